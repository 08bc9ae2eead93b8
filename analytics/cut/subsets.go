package cut

import (
	"math"
	"slices"
)

// choiceNode is a choice, for some boards, of whether they are used: 1 used
// and paid for, 2 left whole, 0 open; and the most that a plan so bound is
// worth.
type choiceNode struct {
	state []int8
	bound float64
	split int // the board to decide next, -1 for none
}

// fewBoards is for how many boards the bound is bettered by deciding which of
// them are used.
const fewBoards = 16

// subsets betters the bound where few boards cost much: it decides board by
// board whether each is used, generating columns afresh for each choice, the
// most promising first. A choice that is worth no more than the plan is
// dropped.
func (s *solver) subsets(limit int) {
	if s.in.Objective != MinBoardCost || len(s.p.kinds) > fewBoards ||
		slices.ContainsFunc(s.p.kinds, func(k kind) bool { return k.count != 1 }) {
		return
	}
	root := s.decide(make([]int8, len(s.p.kinds)))
	open := []choiceNode{root}
	for ; limit > 0 && !s.stop() && len(open) > 0; limit-- {
		top := 0
		for i := range open {
			if open[i].bound > open[top].bound {
				top = i
			}
		}
		n := open[top]
		if n.split < 0 {
			break // a set of boards that might do: no better bound by sets
		}
		open = slices.Delete(open, top, top+1)
		for use := int8(1); use <= 2; use++ {
			state := slices.Clone(n.state)
			state[n.split] = use
			child := s.decide(state)
			child.bound = min(child.bound, n.bound)
			if s.ceilingOf(child.bound) > s.inc.worth+1e-6*s.grain {
				open = append(open, child)
			}
		}
	}
	most := s.inc.worth
	for _, n := range open {
		most = max(most, n.bound)
	}
	if !s.stop() {
		s.bound = min(s.bound, most)
	}
}

// decide bounds the plans of a choice and finds the board whose use is most
// in doubt.
func (s *solver) decide(state []int8) choiceNode {
	q := *s.p
	q.kinds = slices.Clone(s.p.kinds)
	sunk := 0.0
	for k, use := range state {
		switch use {
		case 1:
			sunk += q.kinds[k].cost
			q.kinds[k].cost = 0
		case 2:
			q.kinds[k].count = 0
		}
	}
	d := newDuals(&q, s.e, s.opts.Workers, s.stop)
	d.inherit(s.d)
	d.run(1e-3*s.grain, math.MaxInt)
	n := choiceNode{state: state, bound: math.Inf(1), split: -1}
	if s.stop() {
		return n
	}
	n.bound = d.best.bound - sunk
	doubt := 1e-5
	for k, use := range state {
		empty := 0.0
		if d.m.key[k] == d.m.of[k][0] {
			empty = d.m.xkey[k]
		} else if at := d.m.place[d.m.of[k][0]]; at >= 0 {
			empty = d.m.x[at]
		}
		if f := min(empty, 1-empty); use == 0 && f > doubt {
			n.split, doubt = k, f
		}
	}
	return n
}

// hopeless reports whether it is proven, by columns alone, that the boards
// cannot give all that must be made: at no cost for boards even a mix of
// patterns lacks something.
func (s *solver) hopeless() bool {
	if s.e == nil || s.stop() {
		return false
	}
	q := *s.p
	q.kinds = slices.Clone(s.p.kinds)
	for k := range q.kinds {
		q.kinds[k].cost = 0
	}
	q.items = slices.Clone(s.p.items)
	base := 0.0
	for i := range q.items {
		if q.items[i].worth >= q.penalty { // a copy that must be made
			q.items[i].worth = 1
			base += float64(q.items[i].want)
		} else {
			q.items[i].want, q.items[i].worth = 0, 0
		}
	}
	d := newDuals(&q, s.e, s.opts.Workers, s.stop)
	d.start()
	d.run(1e-7*(1+base), math.MaxInt)
	return !s.stop() && d.best.bound < base-1e-6*(1+base)
}
