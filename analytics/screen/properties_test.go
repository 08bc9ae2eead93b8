package screen

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// mostDrawn is how many findings a random set holds at most.
const mostDrawn = 10

func TestAddingNeverMakesMilder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		before, opts := pick.findings(mostDrawn), Options{Today: today, Policy: pick.policy()}
		more := pick.finding(before)
		if liftsSomething(more) {
			return
		}
		a, b := Judge(before, opts), Judge(append(slices.Clone(before), more), opts)
		require.GreaterOrEqual(t, b.Verdict.Severity(), a.Verdict.Severity(), "%v", more)
		require.False(t, a.OwnershipStop && !b.OwnershipStop)
		lot, board := pick.findings(mostDrawn), pick.findings(4)
		a, b = JudgeBoard(lot, board, opts), JudgeBoard(lot, append(slices.Clone(board), more), opts)
		require.GreaterOrEqual(t, b.Verdict.Severity(), a.Verdict.Severity(), "%v", more)
		c := JudgeBoard(append(slices.Clone(lot), more), board, opts)
		require.GreaterOrEqual(t, c.Verdict.Severity(), a.Verdict.Severity(), "%v", more)
	})
}

func TestOrderAndDuplicatesDoNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		findings, opts := pick.findings(mostDrawn), Options{Today: today, Policy: pick.policy()}
		want := outline(Judge(findings, opts))
		mixed := rapid.Permutation(findings).Draw(t, "order")
		require.Equal(t, want, outline(Judge(mixed, opts)))
		if len(findings) > 0 {
			twice := append(slices.Clone(mixed), findings[pick(len(findings))])
			require.Equal(t, want, outline(Judge(twice, opts)))
		}
	})
}

// outline is what must not depend on the order of findings.
func outline(j Judgement) []string {
	lines := []string{string(j.Verdict)}
	for name, list := range map[string][]Reason{"reason": j.Reasons, "stop": j.Stops, "remark": j.Remarks, "lifted": j.Lifted} {
		for _, r := range list {
			lines = append(lines, strings.Join([]string{name, r.RuleID, string(r.Verdict), string(r.From), r.Answer}, " "))
		}
	}
	slices.Sort(lines)
	return lines
}

// TestNothingReachesInsideWithoutEvidence takes away every finding that speaks
// to the treatment or the history; what is left must hold or bar.
func TestNothingReachesInsideWithoutEvidence(t *testing.T) {
	t.Parallel()
	silence, ok := RuleByID("S00")
	require.True(t, ok)
	var positive factSet
	for _, l := range silence.Lifts {
		// The first clause of each lift is what it cannot do without.
		for _, name := range l.When[0] {
			positive.add(tables().factByName[name])
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		findings := slices.DeleteFunc(pick.findings(mostDrawn), func(f Finding) bool {
			return slices.ContainsFunc(factsOf(f), positive.has)
		})
		opts := Options{Policy: pick.policy()}
		for _, j := range []Judgement{Judge(findings, opts), JudgeBoard(nil, findings, opts), JudgeBoard(findings, nil, opts)} {
			require.GreaterOrEqual(t, j.Verdict.Severity(), Hold.Severity(), describe(j))
		}
	})
}

func TestEveryVerdictHasAReason(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		findings, policy := pick.findings(mostDrawn), pick.policy()
		for _, j := range []Judgement{Judge(findings, Options{Today: today, Policy: policy}), JudgeBoard(findings, pick.findings(4), Options{Policy: policy})} {
			require.NotEmpty(t, j.Reasons)
			require.Equal(t, worstVerdict(j.Reasons), j.Verdict)
			require.Equal(t, Version(), j.RuleVersion)
			for _, id := range fired(j) {
				_, ok := RuleByID(id)
				require.True(t, ok, id)
			}
			require.Equal(t, j.OwnershipStop, len(j.Stops) > 0)
			require.True(t, slices.IsSortedFunc(j.Reasons, func(a, b Reason) int { return b.Verdict.Severity() - a.Verdict.Severity() }))
		}
	})
}

// TestLiftingOneNeverLiftsAnother adds one finding and checks that every rule
// that got milder names, in one of its own lifts, a fact of that finding.
func TestLiftingOneNeverLiftsAnother(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		before, opts := pick.findings(mostDrawn), Options{Today: today, Policy: pick.policy()}
		more := pick.finding(before)
		if more.Kind == kindMisreading {
			return
		}
		facts := factsOf(more)
		was, now := worstByRule(Judge(before, opts)), worstByRule(Judge(append(slices.Clone(before), more), opts))
		for id, v := range was {
			if now[id].Severity() < v.Severity() || now[id] == "" {
				require.True(t, namesFact(id, facts), "%s was lifted by %s=%s", id, more.Kind, more.Value)
			}
		}
	})
}

// worstByRule is the worst verdict each rule asks for.
func worstByRule(j Judgement) map[string]Verdict {
	worst := map[string]Verdict{}
	for _, r := range j.Reasons {
		if _, ok := worst[r.RuleID]; !ok {
			worst[r.RuleID] = r.Verdict
		}
		worst[r.RuleID] = Worse(worst[r.RuleID], r.Verdict)
	}
	return worst
}

// namesFact reports whether a lift of the rule names one of the facts.
func namesFact(id string, facts []factID) bool {
	r, _ := RuleByID(id)
	for _, l := range r.Lifts {
		for _, clause := range l.When {
			for _, f := range facts {
				if slices.Contains(clause, tables().factNames[f]) {
					return true
				}
			}
		}
	}
	if r.Misread != nil {
		for _, s := range r.Misread.Steps {
			for _, clause := range s.When {
				for _, f := range facts {
					if slices.Contains(clause, tables().factNames[f]) {
						return true
					}
				}
			}
		}
	}
	return false
}

func TestNeverFallsOnlyToAMisreading(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		notMisread := func(f Finding) bool { return f.Kind == kindMisreading || f.Struck }
		before := slices.DeleteFunc(pick.findings(mostDrawn), notMisread)
		more := slices.DeleteFunc(pick.findings(mostDrawn), notMisread)
		policy := pick.policy()
		// Half of the time every setting is as strict as it can be, so that much is
		// never by the house alone.
		if pick(2) == 0 {
			for _, s := range PolicySettings() {
				policy.Settings[s.ID] = s.Allowed[len(s.Allowed)-1]
			}
		}
		opts := Options{Policy: policy}
		j := Judge(before, opts)
		for _, r := range j.Reasons {
			require.False(t, r.From == Never && len(r.By) == 0, "%v", r)
		}
		if j.Verdict != Never {
			return
		}
		for _, l := range j.Lifts {
			require.True(t, l.Misreading, "%v", l)
		}
		require.Equal(t, Never, Judge(slices.Concat(before, more), Options{Today: today, Policy: policy}).Verdict)
		require.Equal(t, Never, JudgeBoard(before, more, opts).Verdict)
	})
}

// TestStricterPolicyNeverMakesMilder draws two policies, one no milder in any
// setting than the other.
func TestStricterPolicyNeverMakesMilder(t *testing.T) {
	t.Parallel()
	settings := PolicySettings()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		findings := pick.findings(mostDrawn)
		mild, strict := map[string]Verdict{}, map[string]Verdict{}
		for _, s := range settings {
			a := pick(len(s.Allowed))
			mild[s.ID], strict[s.ID] = s.Allowed[a], s.Allowed[a+pick(len(s.Allowed)-a)]
		}
		require.NoError(t, Policy{mild}.Validate())
		a := Judge(findings, Options{Policy: Policy{mild}})
		b := Judge(findings, Options{Policy: Policy{strict}})
		require.GreaterOrEqual(t, b.Verdict.Severity(), a.Verdict.Severity())
	})
}

// TestPolicyCannotSoftenPublished sets every rule and lift to inside; the
// verdict must be that of the settings that are allowed to be.
func TestPolicyCannotSoftenPublished(t *testing.T) {
	t.Parallel()
	soft, legal := map[string]Verdict{}, map[string]Verdict{}
	for _, r := range Rules() {
		soft[r.ID] = Inside
		for _, l := range r.Lifts {
			soft[r.ID+"/"+l.ID] = Inside
		}
	}
	for _, s := range PolicySettings() {
		if slices.Contains(s.Allowed, Inside) {
			legal[s.ID] = Inside
		}
	}
	require.ErrorIs(t, Policy{soft}.Validate(), ErrFixedRule)
	require.NoError(t, Policy{legal}.Validate())
	rapid.Check(t, func(t *rapid.T) {
		findings := rapidPicker(t).findings(mostDrawn)
		want := outline(Judge(findings, Options{Policy: Policy{legal}}))
		require.Equal(t, want, outline(Judge(findings, Options{Policy: Policy{maps.Clone(soft)}})))
	})
}

// TestFutureClearsNothing checks that a finding dated in the future never makes
// the verdict milder, whatever it says.
func TestFutureClearsNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		before, opts := pick.findings(mostDrawn), Options{Today: today, Policy: pick.policy()}
		more := pick.finding(before)
		more.At = today.AddDate(0, 0, 2+pick(1000))
		a, b := Judge(before, opts), Judge(append(slices.Clone(before), more), opts)
		require.GreaterOrEqual(t, b.Verdict.Severity(), a.Verdict.Severity())
	})
}

// TestBoardsStandAlone checks that what is found on one board changes neither
// the lot nor another board.
func TestBoardsStandAlone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		findings := slices.DeleteFunc(pick.findings(mostDrawn), func(f Finding) bool { return f.On == "B-1" })
		own := pick.finding(findings)
		own.On = "B-1"
		opts := Options{Policy: pick.policy()}
		before, after := JudgeUnit(findings, opts), JudgeUnit(append(slices.Clone(findings), own), opts)
		require.Equal(t, outline(before.Lot), outline(after.Lot))
		for _, b := range before.Boards {
			i := slices.IndexFunc(after.Boards, func(o BoardJudgement) bool { return o.On == b.On })
			require.Equal(t, outline(b.Judgement), outline(after.Boards[i].Judgement))
		}
	})
}

// TestPanelTakesTheWorst checks a glued panel against its pieces.
func TestPanelTakesTheWorst(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		var parts []Judgement
		worst, stop, opts := Inside, false, Options{Policy: pick.policy()}
		for range 1 + pick(4) {
			j := Judge(pick.findings(mostDrawn), opts)
			parts = append(parts, j)
			worst, stop = Worse(worst, j.Verdict), stop || j.OwnershipStop
		}
		panel := WorstOf(parts...)
		require.Equal(t, worst, panel.Verdict)
		require.Equal(t, stop, panel.OwnershipStop)
		require.Equal(t, worstVerdict(panel.Reasons), panel.Verdict)
	})
}

// FuzzJudge judges arbitrary text as a list of one choice and one mark: it must
// answer, hold what it cannot read, and give a reason.
func FuzzJudge(f *testing.F) {
	f.Add("mark", "IPPC DE-NW-49-1234 / HT", "lot", "")
	f.Add("odour", "musty", "B-1", "note")
	f.Add("moisture", "14,5 %", "", "")
	f.Add("misreading", "mark=IPPC US-1 HT", "lot", "looked again")
	f.Add("aura", "🪵\u202evoilet\x00", "\xff", "\u2028")
	f.Add("tag", strings.Repeat("CCA ", 1000), "lot", strings.Repeat("x", 20000))
	f.Fuzz(func(t *testing.T, kind, value, place, note string) {
		one := Finding{Kind: Kind(kind), Value: value, On: place, Note: note}
		alone := Judge([]Finding{one}, Options{})
		require.NotEmpty(t, alone.Reasons)
		if _, ok := KindByName(Kind(kind)); !ok {
			require.Equal(t, Hold, alone.Verdict)
			require.ErrorIs(t, Validate(one), ErrUnknownKind)
		}
		unit := JudgeUnit([]Finding{heat, one}, Options{Today: today})
		require.NotEmpty(t, unit.Lot.Reasons)
		_ = one.Label()
	})
}
