package question

import (
	"context"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"pairwright/pairing"
	"pairwright/pairing/board"
	"pairwright/pedigree/studbook"
)

// kept is a value that is computed once: by the first who asks, while the
// others wait. Where the computation fails, or its asker goes away, the next
// who asks computes it anew.
type kept[T any] struct {
	turn  chan struct{} // holds one while somebody computes
	done  atomic.Bool
	value T // written before done is set
}

func newKept[T any]() *kept[T] { return &kept[T]{turn: make(chan struct{}, 1)} }

func (k *kept[T]) get(ctx context.Context, compute func() (T, error)) (T, error) {
	var none T
	select {
	case k.turn <- struct{}{}:
	case <-ctx.Done():
		return none, ctx.Err()
	}
	defer func() { <-k.turn }()
	if !k.done.Load() {
		value, err := compute()
		if err != nil {
			return none, err
		}
		if ctx.Err() != nil {
			return value, nil // it may be no more than what there was when it was stopped
		}
		k.value = value
		k.done.Store(true)
	}
	return k.value, nil
}

// shelf keeps the values of the keys that were asked for last, at most so many
// of them.
type shelf[K comparable, T any] struct {
	most int
	lock sync.Mutex
	keys []K // the one asked for last stands last
	of   map[K]*kept[T]
}

func newShelf[K comparable, T any](most int) *shelf[K, T] {
	return &shelf[K, T]{most: most, of: make(map[K]*kept[T])}
}

// at returns the place of a key.
func (s *shelf[K, T]) at(key K) *kept[T] {
	s.lock.Lock()
	defer s.lock.Unlock()
	place, there := s.of[key]
	if there {
		s.keys = slices.DeleteFunc(s.keys, func(k K) bool { return k == key })
	} else {
		place = newKept[T]()
		s.of[key] = place
	}
	s.keys = append(s.keys, key)
	if len(s.keys) > s.most {
		delete(s.of, s.keys[0])
		s.keys = s.keys[1:]
	}
	return place
}

// How much is kept of one state of the files.
const (
	daysKept    = 4
	seedsKept   = 2
	answersKept = 16
	// Of colonies boards and plans.
	coloniesKept = 4
)

// season is what was computed of a folder for a day.
type season struct {
	programme *pairing.Programme
	decision  *kept[*pairing.Decision]
	rankers   *shelf[uint64, *pairing.Ranker] // by seed
	boards    *shelf[string, *board.Board]    // by colony
	plans     *shelf[string, *pairing.Plan]   // of the decision's own rules, by colony and chicks
}

// season returns what is kept for the day asked for.
func (f *Folder) season(ctx context.Context, a *Asked) (*season, error) {
	if f.Faults != nil {
		return nil, f.Faults
	}
	day, seasons := f.Day(a), f.seasons
	if f.readFor == a {
		seasons = f.narrow
	}
	return seasons.at(day).get(ctx, func() (*season, error) {
		p, err := f.newProgramme(ctx, a, f.Colony.At(day))
		if err != nil {
			return nil, err
		}
		return &season{programme: p, decision: newKept[*pairing.Decision](), rankers: newShelf[uint64, *pairing.Ranker](seedsKept),
			boards: newShelf[string, *board.Board](coloniesKept), plans: newShelf[string, *pairing.Plan](coloniesKept)}, nil
	})
}

// Ready reports how far what most answers about a day rest on has been computed: the
// programme with its kinships, and the season's decision.
func (f *Folder) Ready(a *Asked) (programme, decision bool) {
	if f.Faults != nil {
		return false, false
	}
	s := f.seasons.at(f.Day(a))
	if !s.done.Load() {
		return false, false
	}
	return true, s.value.decision.done.Load()
}

// newProgramme computes the programme on a day, as far as the question goes where
// there is no other.
func (f *Folder) newProgramme(ctx context.Context, a *Asked, book *studbook.Snapshot) (*pairing.Programme, error) {
	if f.readFor != a || !a.Question.living || a.everyBird() {
		return pairing.New(ctx, book)
	}
	var about []int
	for _, id := range a.Birds {
		if b, there := book.Index(id); there {
			about = append(about, b)
		}
	}
	return pairing.NewAbout(ctx, book, about...)
}

// everyBird reports whether the question is about the dead as well.
func (a *Asked) everyBird() bool {
	q, ok := a.ask.(*birds)
	return ok && q.all
}

// programme returns the programme on the day asked for.
func (f *Folder) programme(ctx context.Context, a *Asked) (*pairing.Programme, error) {
	s, err := f.season(ctx, a)
	if err != nil {
		return nil, err
	}
	return s.programme, nil
}

// decision returns the season's decision by the programme's own rules.
func (f *Folder) decision(ctx context.Context, a *Asked) (*pairing.Decision, error) {
	s, err := f.season(ctx, a)
	if err != nil {
		return nil, err
	}
	return s.decision.get(ctx, func() (*pairing.Decision, error) {
		return s.programme.Decide(ctx, pairing.DecisionOptions{})
	})
}

// ranker ranks mates by that decision.
func (f *Folder) ranker(ctx context.Context, a *Asked, rules pairing.Options) (*pairing.Ranker, error) {
	d, err := f.decision(ctx, a)
	if err != nil {
		return nil, err
	}
	s, err := f.season(ctx, a)
	if err != nil {
		return nil, err
	}
	r, err := s.rankers.at(rules.Seed).get(ctx, func() (*pairing.Ranker, error) {
		return pairing.NewRanker(ctx, d, pairing.Options{Seed: rules.Seed})
	})
	if err != nil {
		return nil, err
	}
	return r.Asked(rules), nil
}

// key is the same for questions that have the same answer.
func (a *Asked) key() string {
	parts := append([]string{a.Question.Name}, a.Birds...)
	for _, s := range a.declared {
		if s.Key != "format" || a.Question.byFormat {
			parts = append(parts, "\x00", s.Key)
			parts = append(parts, s.texts...)
		}
	}
	return strings.Join(parts, "\x01")
}

// newSeasons is where a folder keeps what was computed of it.
func newSeasons() *shelf[studbook.Day, *season] {
	return newShelf[studbook.Day, *season](daysKept)
}
