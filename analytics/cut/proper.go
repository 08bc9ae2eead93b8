package cut

import "math"

// properEngine answers with proper patterns, which make no more of an item than
// is wanted in all. Where few boards must make few copies of each part, that
// brings the bound down: a mix may otherwise count the third part of a pattern
// of three copies where one is wanted.
type properEngine struct {
	engine
	p    *problem
	gain []float64
}

// prepare notes the gains too.
func (e *properEngine) prepare(gain []float64) {
	e.gain = gain
	e.engine.prepare(gain)
}

// worker returns a pricer of proper patterns.
func (e *properEngine) worker() pricer { return &properPricer{e.engine.worker(), e} }

// properPricer asks the engine's pricer first and lists patterns only where its
// answer is not proper.
type properPricer struct {
	pricer
	e *properEngine
}

// properEffort bounds how many partial patterns the search for one proper
// pattern tries.
const properEffort = 100_000

// best returns the best proper pattern, or the best of all where finding it
// takes too long: what that gains is no less.
func (w *properPricer) best(kind int) (float64, []bit) {
	gain, bits := w.pricer.best(kind)
	if w.e.proper(bits) {
		return gain, bits
	}
	q := &quota{left: properEffort, stop: w.e.p.stop}
	for part := 0.02; !q.out; part *= 2.5 {
		slack := gain * min(1, part)
		l := w.e.lister(kind, w.e.gain, gain-slack-1e-9*(1+gain))
		if l == nil {
			break
		}
		list := l.list(slack-(gain-l.best()), q)
		switch {
		case q.out:
		case len(list) > 0:
			return l.best() - list[0].loss, list[0].bits
		case part >= 1:
			return 0, nil
		}
	}
	return gain, bits
}

// proper reports whether bits hold no more of an item than is wanted.
func (e *properEngine) proper(bits []bit) bool {
	pt := patternOf(bits)
	for i, it := range pt.items {
		if int(pt.n[i]) > e.p.items[it].want {
			return false
		}
	}
	return true
}

// fewKinds is up to how many kinds of board the bound is sought with proper
// patterns.
const fewKinds = 24

// properBound brings the bound down by proper patterns. Where boards are to be
// saved, deciding which of them are used (see subsets) does more in the time.
func (s *solver) properBound() {
	if s.in.Objective != MaxValue || len(s.p.kinds) > fewKinds || s.p.unlimited() || s.good() || s.stop() {
		return
	}
	d := newDuals(s.p, &properEngine{engine: s.e, p: s.p}, s.opts.Workers, s.stop)
	d.inherit(s.d)
	d.run(1e-6*(1+math.Abs(s.p.base)*1e-6), math.MaxInt)
	if d.best.price != nil && d.best.bound < s.d.best.bound {
		s.d = d
		s.bound = min(s.bound, d.best.bound+s.p.shade)
		s.round()
	}
}
