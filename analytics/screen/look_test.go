package screen

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// standIns are real marks for the outcomes that stand for a mark nobody has
// typed yet, by the outcome's label.
var standIns = map[string]string{
	"a complete heat mark": "IPPC DE-NW-49-1234 / HT", "a complete methyl bromide mark": "IPPC CN-001 / MB",
	"its own heat mark": "IPPC DE-NW-49-1234 / HT", "its own methyl bromide mark": "IPPC CN-001 / MB", "part of a mark": "IPPC ?S-10?3 H?",
}

// outcomeFindings are the findings a person would record for an outcome, made
// anew from the table rather than taken from the search.
func outcomeFindings(o checkOutcome, dated bool) []Finding {
	var add []Finding
	if text, ok := standIns[o.Label]; ok {
		add = append(add, Finding{Kind: "mark", Value: text})
	}
	for _, a := range o.Add {
		f := Finding{Kind: a.Kind, Value: a.Value, Note: "T. Example, 3 May"}
		if dated {
			f.At = today.AddDate(0, 0, a.Days)
		}
		add = append(add, f)
	}
	return add
}

// everyWorld calls visit with every joint result of the checks: which outcome
// each has, and the weight of that world.
func everyWorld(checks []check, visit func(outcome []int, weight float64)) {
	outcome := make([]int, len(checks))
	for {
		weight := 1.0
		for i, c := range checks {
			weight *= c.Outcomes[outcome[i]].Weight
		}
		visit(outcome, weight)
		i := 0
		for ; i < len(checks); i++ {
			if outcome[i]++; outcome[i] < len(checks[i].Outcomes) {
				break
			}
			outcome[i] = 0
		}
		if i == len(checks) {
			return
		}
	}
}

// TestNextLookAgainstEveryWorld enumerates, for every subset of a small pool of
// findings, every joint result of all checks that fit, asks Judge in each world
// what each single check would lead to, and compares the check that does best
// over all worlds with the one NextLook picks.
func TestNextLookAgainstEveryWorld(t *testing.T) {
	t.Parallel()
	pool := []Finding{f("mark_look", "none"), f("mark", "PL-12345 HT"), f("paint", "unknown"), f("metal", "found"), f("look", "clean"), f("fumigation", "placard")}
	held := 0
	for set := range 1 << len(pool) {
		var findings []Finding
		for i := range pool {
			if set&(1<<i) != 0 {
				findings = append(findings, at(1, pool[i]))
			}
		}
		opts := Options{Today: today}
		now := Judge(findings, opts)
		got := NextLook(findings, Prior{}, opts)
		if now.Verdict != Hold {
			require.Nil(t, got)
			continue
		}
		held++
		want, gains := bestOverWorlds(findings, now, opts)
		require.NotNil(t, got, caseName(findings))
		require.InDelta(t, gains[want], got.Gain, 1e-9, "%s: %s", caseName(findings), got.ID)
		require.Equal(t, want, got.ID, "%s: %v", caseName(findings), gains)
		require.InDelta(t, got.Gain, gains[got.ID], 1e-9)
	}
	require.Greater(t, held, 40)
}

// bestOverWorlds is the check with the largest average gain over all worlds,
// ties by minutes and id, and the gain of each.
func bestOverWorlds(findings []Finding, now Judgement, opts Options) (string, map[string]float64) {
	holding := holdingRules(&now)
	fit := fitting(findings, holding)
	table := make([][]float64, len(fit))
	for i, c := range fit {
		table[i] = outcomeGains(findings, c, holding, opts)
	}
	sums, total := make([]float64, len(fit)), 0.0
	everyWorld(fit, func(outcome []int, weight float64) {
		total += weight
		for i := range fit {
			sums[i] += weight * table[i][outcome[i]]
		}
	})
	gains := map[string]float64{}
	best := -1
	for i, c := range fit {
		gains[c.ID] = sums[i] / total
		if best < 0 || ahead(gains[c.ID], gains[fit[best].ID], c, fit[best]) {
			best = i
		}
	}
	return fit[best].ID, gains
}

func ahead(a, b float64, c, d check) bool {
	switch {
	case a > b+1e-9:
		return true
	case a < b-1e-9:
		return false
	case c.Minutes != d.Minutes:
		return c.Minutes < d.Minutes
	default:
		return c.ID < d.ID
	}
}

// fitting are the checks that fit: they help with a rule that holds, are not
// done yet, and follow what they must follow.
func fitting(findings []Finding, holding []string) []check {
	present := map[string]bool{}
	for _, f := range findings {
		for _, id := range factsOf(f) {
			present[tables().factNames[id]] = true
		}
	}
	seen := func(name string) bool { return present[name] }
	var fit []check
	for _, c := range tables().checks {
		helps := slices.ContainsFunc(c.For, func(id string) bool { return slices.Contains(holding, id) })
		follows := len(c.Needs) == 0 || slices.ContainsFunc(c.Needs, seen)
		if helps && follows && !slices.ContainsFunc(c.Unless, seen) {
			fit = append(fit, c)
		}
	}
	return fit
}

// outcomeGains asks Judge what each outcome of a check would lead to.
func outcomeGains(findings []Finding, c check, holding []string, opts Options) []float64 {
	gains := make([]float64, len(c.Outcomes))
	for i, o := range c.Outcomes {
		opts.Today = today.AddDate(1, 0, 0)
		j := Judge(slices.Concat(findings, outcomeFindings(o, true)), opts)
		if j.Verdict != Hold {
			gains[i] = 1
			continue
		}
		left := holdingRules(&j)
		for _, id := range holding {
			if !slices.Contains(left, id) {
				gains[i] += 0.5 / float64(len(holding))
			}
		}
	}
	return gains
}

// TestPriorMovesTheChances compares the chances with Laplace's rule by hand.
func TestPriorMovesTheChances(t *testing.T) {
	t.Parallel()
	findings := home(f("paint", "unknown"))
	l := NextLook(findings, Prior{}, Options{})
	require.Equal(t, "lead_test", l.ID)
	require.InDelta(t, 0.70, l.Outcomes[0].Chance, 1e-12)
	require.InDelta(t, 1, l.Settles, 1e-12)
	// Ten earlier lots, all barred: outside 1/14, never 11/14.
	l = NextLook(findings, Prior{Never: 10}, Options{})
	require.InDelta(t, 70*1/(70*1+30*11.0), l.Outcomes[0].Chance, 1e-12)
	require.Contains(t, l.Why, "10 earlier lots")
	require.Equal(t, NextLook(findings, Prior{}, Options{}).Outcomes, NextLook(findings, Prior{Hold: -3}, Options{}).Outcomes)
}

func TestNextLook(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name     string
		findings []Finding
		want     string
	}{
		{"nothing known", nil, "find_mark"},
		{"a worn stamp", []Finding{f("mark_look", "worn"), f("mark", "IPPC ?S-10?3 H?")}, "second_photo"},
		{"paint on a marked crate", []Finding{heat, f("paint", "unknown")}, "lead_test"},
		{"metal on a marked crate", []Finding{heat, f("metal", "found")}, "sweep_metal"},
		{"a gassed container", []Finding{heat, f("fumigation", "container")}, "air_it"},
		{"aired, not smelled", []Finding{heat, f("fumigation", "container"), f("done", "aired")}, "smell_aired"},
		{"fish", home(f("cargo", "fish")), "wash_dry_plane"},
		{"wet", home(f("moisture", "30")), "dry_twice"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			j := Judge(c.findings, Options{Prior: &Prior{}, Today: today})
			require.NotNil(t, j.Next)
			require.Equal(t, c.want, j.Next.ID)
			require.Contains(t, j.Next.Why, "house estimate")
			require.NotEmpty(t, j.Next.How)
		})
	}
	require.Nil(t, Judge(nil, Options{}).Next, "not asked for")
	require.Nil(t, NextLook(home(), Prior{}, Options{}), "not held")
	require.Nil(t, NextLook(home(f("aura", "violet")), Prior{}, Options{}), "no check helps")
	own := NextLookBoard([]Finding{heat, f("mark_look", "mixed_boards")}, nil, Prior{}, Options{})
	require.Equal(t, "own_mark", own.ID)
	require.InDelta(t, 0.48, own.Settles, 1e-12)
}

// TestChecksFollowWhatTheyMust covers checks that make no sense before a deed,
// and those that make none once done.
func TestChecksFollowWhatTheyMust(t *testing.T) {
	t.Parallel()
	offered := func(id string, findings ...Finding) bool {
		s := lookSearch{findings: findings}
		s.read()
		now := s.judge(nil, nil, 0)
		s.holding = holdingRules(&now)
		checks := tables().checks
		return s.offered(&checks[slices.IndexFunc(checks, func(c check) bool { return c.ID == id })])
	}
	gassed := f("fumigation", "container")
	require.False(t, offered("smell_aired", gassed))
	require.True(t, offered("smell_aired", gassed, f("done", "aired")))
	require.True(t, offered("air_it", gassed))
	require.False(t, offered("air_it", gassed, f("done", "aired")))
	require.False(t, offered("lead_test", gassed), "no paint was found")
	require.True(t, offered("air_it", gassed, f("done", "aired"), misread("done=aired")), "a misread deed was not done")
}

// TestTiesGoToTheQuicker covers the order among checks of equal gain.
func TestTiesGoToTheQuicker(t *testing.T) {
	t.Parallel()
	quick, slow := &Look{ID: "z", Gain: 0.5, Minutes: 2}, &Look{ID: "a", Gain: 0.5 + 1e-12, Minutes: 20}
	require.True(t, better(quick, slow), "a difference of rounding is none")
	require.False(t, better(slow, quick))
	require.True(t, better(&Look{ID: "b", Gain: 0.6, Minutes: 90}, quick), "gain goes before minutes")
	require.True(t, better(&Look{ID: "a", Gain: 0.5, Minutes: 2}, quick), "then the first by id")
	require.True(t, better(quick, nil))
}

// TestNextLookHoldsTogether covers what must be so of any look.
func TestNextLookHoldsTogether(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		findings := pick.findings(6)
		prior := Prior{Inside: pick(9), Outside: pick(9), Hold: pick(9), Never: pick(9)}
		l := NextLook(findings, prior, Options{Today: today})
		if l == nil {
			return
		}
		total := 0.0
		for _, o := range l.Outcomes {
			total += o.Chance
			require.True(t, o.Verdict.Known())
		}
		require.InDelta(t, 1, total, 1e-9)
		require.GreaterOrEqual(t, l.Gain, l.Settles)
		require.LessOrEqual(t, l.Gain, 1+1e-9)
		again := Judge(findings, Options{Today: today, Prior: &prior})
		require.Equal(t, l, again.Next)
	})
}
