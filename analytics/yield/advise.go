package yield

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Season returns the model with another number of drives left in the season, 1 to
// 1,000; nothing is learned anew. The error wraps ErrOption.
func (m *Model) Season(drives int) (*Model, error) {
	if drives < 1 {
		drives = -1 // 0 is no default here
	}
	opts := m.opts
	opts.Horizon = drives
	opts, err := opts.complete()
	if err != nil {
		return nil, err
	}
	other := *m
	other.opts = opts
	return &other, nil
}

// Horizon returns the number of drives left in the season, this one included.
func (m *Model) Horizon() int { return m.opts.Horizon }

// advise compares every place and staying home for the coming drive. Each is
// scored by the sure net per drive that would be just as good over the drives left:
// its expected net and a premium for what trying it may show. That is an index of a
// bandit with a finite horizon (Gittins 1979, J. Royal Statistical Society B
// 41:148-177), with trying restricted to a number of trips before deciding: one
// noisy trip often changes no decision where three would (Frazier and Powell 2010,
// Decision Analysis 7:378-403). Learn is the plain knowledge gradient of one trip
// (Frazier, Powell and Dayanik 2008, SIAM J. Control Optim. 47:2410-2439). Beliefs
// are taken as normal and a trip as telling about its own source only. Where no load has
// come home yet, nothing is weighed: what may be learnt would be a figure of the beliefs,
// not of the book.
func (m *Model) advise(all []*priced, t Terms) Advice {
	best, second := leaders(all, t.Home)
	index := newPremiums(m.opts.Horizon)
	a := Advice{Horizon: m.opts.Horizon, Choices: make([]Choice, 0, len(all)+1)}
	for i, p := range all {
		other := best.mean
		if i == best.at {
			other = second.mean
		}
		doubt := p.sd
		if m.guess == noLoads {
			doubt = 0
		}
		q := question{ahead: p.mean - other, sd: doubt, resolves: p.resolves, horizon: m.opts.Horizon}
		c := Choice{SourceID: p.of.id, Net: p.mean, Learn: q.learn(1), TryOnce: q.try(1), TryThrice: q.try(3)}
		c.Trips, c.Gain = q.bestTrial()
		c.Premium = doubt * index.of(p.resolves)
		c.Score = c.Net + c.Premium
		c.Reason = p.reason(c.Score, t.Home)
		a.Choices = append(a.Choices, c)
	}
	a.Choices = append(a.Choices, Choice{Home: true, Net: t.Home, Score: t.Home, Reason: StayHome})
	slices.SortStableFunc(a.Choices, func(x, y Choice) int { return cmp.Compare(y.Score, x.Score) })
	inParts(len(a.Choices), func(from, to int) {
		for i := from; i < to; i++ {
			a.Choices[i].Sentence = a.Choices[i].sentence(t, m.guess)
		}
	})
	return a
}

// leader is a choice by its expected net; at is −1 for staying home.
type leader struct {
	at   int
	mean float64
}

// leaders finds what a place has to be compared with: for all but the best that is
// the best, for the best itself the second. It returns the best and second best of all places and home.
func leaders(all []*priced, home float64) (best, second leader) {
	best, second = leader{-1, home}, leader{-1, math.Inf(-1)}
	for i, p := range all {
		switch {
		case p.mean > best.mean:
			best, second = leader{i, p.mean}, best
		case p.mean > second.mean:
			second = leader{i, p.mean}
		}
	}
	return best, second
}

// question is whether to try a place that is believed to be ahead of another by
// so much, give or take sd, of whose variance one trip resolves a share.
type question struct {
	ahead, sd, resolves float64
	horizon             int
}

// resolvedBy is the share of the standard deviation that n independent trips
// resolve where one resolves the share r of the variance.
func resolvedBy(n int, r float64) float64 {
	trips := float64(n)
	return math.Sqrt(trips * r / (1 + (trips-1)*r))
}

// learn is the expected rise of the better of the two from n trips.
func (q question) learn(n int) float64 { return gain(q.ahead, q.sd*resolvedBy(n, q.resolves)) }

// try is the expected gain over the season of n trips to the place and then
// keeping to the better of the two, against keeping to the other all season.
func (q question) try(n int) float64 {
	n = min(n, q.horizon)
	return float64(n)*q.ahead + float64(q.horizon-n)*(math.Max(0, q.ahead)+q.learn(n))
}

// trials are the numbers of trips after which a place may be decided on.
var trials = []int{1, 2, 3, 4, 6, 8, 12, 16, 24}

// bestTrial is the number of trips that gains most before the place is decided
// on, with its gain; none, with no gain, where every trial costs more than it may
// show. All drives of the season are too many: then nothing is decided.
func (q question) bestTrial() (trips int, gain float64) {
	for _, n := range trials {
		if n >= q.horizon {
			break
		}
		if g := q.try(n); g > gain {
			trips, gain = n, g
		}
	}
	return trips, gain
}

// premiums tabulates the premium for a place of standard deviation 1 over the
// square root of what one trip resolves; it scales with the standard deviation.
type premiums [33]float64

// newPremiums fills the table for one horizon; 33 points are within a thousandth of
// a standard deviation.
func newPremiums(horizon int) *premiums {
	var p premiums
	for k := range p {
		root := float64(k) / float64(len(p)-1)
		p[k] = premium(root*root, horizon)
	}
	return &p
}

// of reads the table linearly.
func (p *premiums) of(resolves float64) float64 {
	at := math.Sqrt(min(max(resolves, 0), 1)) * float64(len(p)-1)
	i := min(int(at), len(p)-2)
	return p[i] + (p[i+1]-p[i])*(at-float64(i))
}

// premium is the index of a place of standard deviation 1. A sure thing of the size
// x is preferred once no number of trials is worth making against it; trying costs x
// a trip and wins E[max(0, belief − x)] on every later drive. It finds by bisection how far behind a sure thing a place may be so that
// trying it first is just as good.
func premium(resolves float64, horizon int) float64 {
	low, high := 0.0, 6.0
	for range 24 {
		q := question{ahead: -(low + high) / 2, sd: 1, resolves: resolves, horizon: horizon}
		worth := math.Inf(-1)
		for _, n := range trials {
			if n < horizon {
				worth = math.Max(worth, q.try(n))
			}
		}
		if worth > 0 {
			low = -q.ahead
		} else {
			high = -q.ahead
		}
	}
	return low
}

// reason says why a place stands where it stands: it is known to pay if its own trips
// tell (what others bring makes nothing known) and the whole 90 % interval of what it
// nets in the long run, as every page shows it, lies above staying home.
func (p *priced) reason(score, home float64) Reason {
	switch {
	case p.of.told >= ownTrips && p.belief.at(-normalMost) > home:
		return KnownToPay
	case score > home:
		return WorthFindingOut
	default:
		return DoesNotPay
	}
}

// trial says after how many trips to decide.
func (c *Choice) trial() string {
	switch c.Trips {
	case 0:
		return ""
	case 1:
		return "; one trip is enough to decide on it"
	default:
		return fmt.Sprintf("; decide on it after %d trips", c.Trips)
	}
}

// sentence says a choice in words; guess is what no trip of the book tells.
func (c *Choice) sentence(t Terms, guess string) string {
	money := func(x float64) string { return FormatMinor(x, t.Currency) + " " + t.Currency }
	switch c.Reason {
	case StayHome:
		if t.Home > 0 {
			return fmt.Sprintf("Stay home: the day is worth %s there.", money(t.Home))
		}
		return "Stay home: nothing spent, nothing won."
	case KnownToPay:
		return fmt.Sprintf("%s is known to pay: %s is expected of the day.", c.SourceID, money(c.Net))
	case WorthFindingOut:
		if guess == noLoads {
			return fmt.Sprintf("%s is worth finding out: no load has come home yet, so what a drive nets is a guess.", c.SourceID)
		}
		return fmt.Sprintf("%s is worth finding out: %s is expected of the day, and for what it may show it is as good as a sure %s%s.",
			c.SourceID, money(c.Net), money(c.Score), c.trial())
	default:
		return fmt.Sprintf("%s does not pay: %s is expected of the day, and what it may show is not worth that.", c.SourceID, money(c.Net))
	}
}
