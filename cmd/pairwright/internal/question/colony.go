package question

import (
	"context"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing/board"
)

var colonyQuestion = &Question{
	Name: "colony", About: Decide,
	Short: "Show today's board of the colony: what is to be done by when, the nests, the birds in none",
	Long: `Shows the board of a colony on one day, as a sheet for the wall: what is to be done
this week and after it, by when (eggs to candle, replace or foster, chicks to look
for, to band, birds to sex, quarantines and holds that end, moves to ask for,
requests to answer); each nest with its pair, what the season asks of it and its
eggs; the birds in no nest with what becomes of them; and the five figures of the
review. Printed from html it is one sheet of A4 for a colony of forty birds; a
larger one goes on to further sheets, with what is to be done first.`,
	Rows: "a row for each thing to do", colony: true,
	uses: states,
	new:  func() ask { return colony{} },
}

type colony struct{}

func (colony) settings() []Setting { return nil }

func (colony) check(*Asked) error { return nil }

func (colony) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	b, err := f.board(ctx, a)
	if err != nil {
		return nil, err
	}
	value := func() contract.BoardAnswer { return contract.BoardJSON(b) }
	return &Answer{
		schema: "pairwright/colony 1", value: func() any { return value() },
		rows: records(func() []contract.BoardTask { return value().Tasks }), Own: report.PlanWarnings(b.Programme, b.Plan),
		build: func() *document.Document { return report.BoardDocument(b) },
	}, nil
}

// Board returns the board of the colony asked for, on the day asked for.
func (f *Folder) Board(ctx context.Context, a *Asked) (*board.Board, error) {
	b, err := f.board(ctx, a)
	return b, Advised(err)
}

func (f *Folder) board(ctx context.Context, a *Asked) (*board.Board, error) {
	s, err := f.season(ctx, a)
	if err != nil {
		return nil, err
	}
	place, err := s.programme.Colony(a.Colony)
	if err != nil {
		return nil, err
	}
	d, err := f.decision(ctx, a)
	if err != nil {
		return nil, err
	}
	return s.boards.at(place).get(ctx, func() (*board.Board, error) { return board.New(ctx, d, s.programme, place) })
}
