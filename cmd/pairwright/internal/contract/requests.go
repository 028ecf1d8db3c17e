package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
)

// RequestsAnswer is the answer of the transfer command with --requests.
type RequestsAnswer struct {
	AsOf      string          `json:"as_of"`
	LeastGain float64         `json:"least_gain"` // what a pair must gain to be worth a move
	Groups    int             `json:"groups"`     // of requests that exclude each other
	Requests  []RequestAnswer `json:"requests"`
}

// RequestAnswer is a request with the answer to it: "agree", "agree if", "better
// this instead" or "no". Those that exclude each other have one group.
type RequestAnswer struct {
	Answer     string   `json:"answer"`
	Reason     string   `json:"reason"`
	Conditions []string `json:"conditions"` // of "agree if"
	Bird       string   `json:"bird"`
	Sex        string   `json:"sex"`
	From       *string  `json:"from"`
	To         string   `json:"to"`
	Partner    *string  `json:"partner"` // that was asked for
	AskedBy    *string  `json:"asked_by"`
	Date       *string  `json:"date"`
	Group      *int     `json:"group"`
	Preferred  bool     `json:"preferred"` // in its group
	// Mate is the one asked for or the best there, with what the pair would gain.
	Mate    *string  `json:"mate"`
	NetGain *float64 `json:"net_gain"`
	AheadOf *float64 `json:"ahead_of"`
	// What the decision has instead; of a young bird its place alone.
	InsteadFemale  *string  `json:"instead_female"`
	InsteadMale    *string  `json:"instead_male"`
	InsteadAt      *string  `json:"instead_at"`
	InsteadNetGain *float64 `json:"instead_net_gain"`
	Earliest       *string  `json:"earliest"`
	Latest         *string  `json:"latest"`
	Waiting        bool     `json:"waiting"` // a decision on it is on file as waiting
	Notes          *string  `json:"notes"`
}

// RequestsJSON returns judged requests as other programs read them.
func RequestsJSON(p *pairing.Programme, desk *transfer.Desk) RequestsAnswer {
	out := RequestsAnswer{AsOf: p.Book.AsOf.String(), LeastGain: desk.LeastGain, Groups: desk.Groups, Requests: []RequestAnswer{}}
	for k := range desk.Requests {
		x := &desk.Requests[k]
		bird := &p.Book.Birds[x.Bird]
		row := RequestAnswer{
			Answer: string(x.Answer), Reason: report.RequestReason(p, x), Conditions: report.RequestConditions(p, x),
			Bird: bird.ID, Sex: bird.Sex.String(), From: text(x.From), To: x.Request.To, Partner: text(x.Request.Partner), AskedBy: text(x.AskedBy), Date: text(x.Date.Text),
			Group: known(x.Group, x.Group > 0), Preferred: x.Preferred, Earliest: day(x.Timing.Earliest), Latest: day(x.Timing.Latest),
			Waiting: x.Waiting != nil, Notes: text(x.Notes),
		}
		if x.Asked != nil {
			row.Mate, row.NetGain, row.AheadOf = text(p.Book.Birds[x.Asked.Bird].ID), &x.Asked.NetGain, &x.Asked.AheadOf
		}
		if i := x.Instead; i != nil {
			row.InsteadAt = text(i.At)
			if i.Female >= 0 {
				row.InsteadFemale, row.InsteadMale, row.InsteadNetGain = text(p.Book.Birds[i.Female].ID), text(p.Book.Birds[i.Male].ID), &i.NetGain
			}
		}
		out.Requests = append(out.Requests, row)
	}
	return out
}
