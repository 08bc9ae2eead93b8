package yield

import "math"

// Move is a source that changed its place in the ranking.
type Move struct {
	SourceID string `json:"source"`
	From     int    `json:"from"` // place before, 1 is best
	To       int    `json:"to"`
}

// Flip is the value of one term at which the first two sources change places,
// all else equal. Exists is false where no value of zero or more does it.
type Flip struct {
	Term   string  `json:"term"` // "mile", "price", "hour" or "lot_minutes"
	Now    float64 `json:"now"`
	At     float64 `json:"at"`
	Exists bool    `json:"exists"`
}

// WhatIf is the ranking under other terms beside the one of today.
type WhatIf struct {
	Before *Answers `json:"before"`
	After  *Answers `json:"after"`
	Moves  []Move   `json:"moves"` // in the order after
	Flips  []Flip   `json:"flips"` // of the first two of Before
}

// WhatIf compares the ranking at today's terms with that at others; nothing is
// learned anew. The error is that of AnswersAt.
func (m *Model) WhatIf(terms Terms) (*WhatIf, error) {
	after, err := m.AnswersAt(terms)
	if err != nil {
		return nil, err
	}
	w := &WhatIf{Before: m.Answers(), After: after, Moves: []Move{}, Flips: m.flips()}
	before := make(map[string]int, len(w.Before.Sources))
	for i, a := range w.Before.Sources {
		before[a.SourceID] = i + 1
	}
	for i, a := range after.Sources {
		if from := before[a.SourceID]; from != i+1 {
			w.Moves = append(w.Moves, Move{SourceID: a.SourceID, From: from, To: i + 1})
		}
	}
	return w, nil
}

// flips finds, for each term, where the first two sources are expected to net
// the same. Expected net is a straight line in each term, so two values of a term
// give the crossing; only minutes per lot bend it, where they would become
// negative. Price scales what wood brings inside and outside alike; its value is
// that of wood usable inside.
func (m *Model) flips() []Flip {
	flips := []Flip{{Term: "mile", Now: m.terms.Mile}, {Term: "price", Now: m.terms.Inside}, {Term: "hour", Now: m.terms.Hour}, {Term: "lot_minutes"}}
	first, second := m.firstTwo()
	if second == nil {
		return flips
	}
	ahead := func(t Terms) float64 { return m.expected(first, t).mean - m.expected(second, t).mean }
	for i := range flips {
		f := &flips[i]
		at := func(x float64) Terms {
			t := m.terms
			switch f.Term {
			case "mile":
				t.Mile = x
			case "hour":
				t.Hour = x
			case "lot_minutes":
				t.LotMinutes = x
			case "price":
				if t.Inside > 0 {
					t.Outside *= x / t.Inside
				}
				t.Inside = x
			}
			return t
		}
		now := f.Now
		if f.Term == "lot_minutes" {
			now = m.terms.LotMinutes
			f.Now = now
		}
		// A secant over any step is exact on a straight line; this one is of the size of
		// the term, so that nothing cancels.
		step := math.Max(1, math.Abs(now))
		slope := (ahead(at(now+step)) - ahead(at(now))) / step
		if slope == 0 {
			continue
		}
		x := now - ahead(at(now))/slope
		if f.Term != "lot_minutes" && x < 0 || math.Abs(x) > 1e12 {
			continue
		}
		// Where the line bends on the way, there is no crossing at x.
		if away := ahead(at(x)); math.Abs(away) > 1e-6*math.Max(1, math.Abs(ahead(at(now)))) {
			continue
		}
		f.At, f.Exists = x, true
	}
	return flips
}

// firstTwo returns the two sources of the highest expected net at today's terms.
func (m *Model) firstTwo() (first, second *sourceFit) {
	var top, next float64
	for i := range m.sources {
		s := &m.sources[i]
		switch mean := m.expected(s, m.terms).mean; {
		case first == nil || mean > top:
			second, next = first, top
			first, top = s, mean
		case second == nil || mean > next:
			second, next = s, mean
		}
	}
	return first, second
}
