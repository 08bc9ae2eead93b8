package screen

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestPolicyValidate(t *testing.T) {
	t.Parallel()
	set := func(id string, v Verdict) Policy { return Policy{Settings: map[string]Verdict{id: v}} }
	require.NoError(t, Policy{}.Validate())
	require.NoError(t, set("S04", Never).Validate())
	require.NoError(t, set("S03/aired", Inside).Validate())
	require.ErrorIs(t, set("S18", Outside).Validate(), ErrFixedRule)
	require.ErrorIs(t, set("S99", Never).Validate(), ErrFixedRule)
	require.ErrorIs(t, set("S04", Inside).Validate(), ErrOutOfBounds)
	require.ErrorIs(t, set("S04", "maybe").Validate(), ErrUnknownVerdict)
	for _, s := range PolicySettings() {
		require.NotEmpty(t, s.Label)
		require.NotEmpty(t, s.Why)
		require.Contains(t, s.Allowed, s.Default)
	}
}

// TestPolicyTakesEffect covers a rule and a lift set stricter and milder.
func TestPolicyTakesEffect(t *testing.T) {
	t.Parallel()
	with := func(id string, v Verdict, findings ...Finding) Verdict {
		return Judge(findings, Options{Policy: Policy{Settings: map[string]Verdict{id: v}}}).Verdict
	}
	require.Equal(t, Never, with("S04", Never, gas))
	require.Equal(t, Hold, with("S29", Hold, f("material", "plywood_labelled")))
	require.Equal(t, Inside, with("S29", Inside, f("material", "plywood_labelled")))
	aired := []Finding{heat, f("fumigation", "container"), f("done", "aired"), f("odour", "fresh")}
	require.Equal(t, Outside, Judge(aired, Options{}).Verdict)
	require.Equal(t, Inside, with("S03/aired", Inside, aired...))
	require.Equal(t, Hold, with("S03/aired", Hold, aired...))
}

// houseNever is a rule the house may set to never, what fires it, and the
// evidence that lifts it while it is milder.
type houseNever struct {
	rule          string
	finding, lift Finding
}

func houseNevers() []houseNever {
	none := f("test_residue", "none")
	later := at(20, none)
	return []houseNever{
		{"S04", f("mark", "IPPC US-12 MB"), none},
		{"S05", f("mark", "IPPC BR-123 / SF"), none},
		{"S65", f("fumigation", "gas_phosphine"), none},
		{"S78", at(3, f("test_residue", "found")), later},
	}
}

// TestHouseNeverFallsOnlyToAMisreading checks every rule that has a lift and can
// be set to never: neither lift nor note without words moves it, and the ways out
// name the misreading alone.
func TestHouseNeverFallsOnlyToAMisreading(t *testing.T) {
	t.Parallel()
	var can []string
	for _, s := range PolicySettings() {
		if r, _ := RuleByID(s.RuleID); s.ID == r.ID && len(r.Lifts) > 0 && s.Allowed[len(s.Allowed)-1] == Never {
			can = append(can, s.ID)
		}
	}
	var tested []string
	for _, c := range houseNevers() {
		tested = append(tested, c.rule)
		opts := Options{Policy: Policy{Settings: map[string]Verdict{c.rule: Never}}}
		name := string(c.finding.Kind) + "=" + c.finding.Value
		lifted := Judge([]Finding{c.finding, c.lift}, opts)
		require.Equal(t, Never, lifted.Verdict, c.rule)
		require.Empty(t, lifted.Reasons[0].Answer, c.rule)
		require.Len(t, lifted.Lifts, 1, c.rule)
		require.True(t, lifted.Lifts[0].Misreading, c.rule)
		require.Equal(t, Never, JudgeBoard([]Finding{c.finding}, []Finding{c.lift}, opts).Verdict, c.rule)
		require.Less(t, Judge(home(c.finding, misread(name)), opts).Verdict.Severity(), Never.Severity(), c.rule)
		wordless := misread(name)
		wordless.Note = "…!"
		require.Equal(t, Never, Judge(home(c.finding, wordless), opts).Verdict, c.rule)
		require.Less(t, Judge([]Finding{c.finding, c.lift}, Options{}).Verdict.Severity(), Never.Severity(), c.rule)
	}
	require.Equal(t, can, tested, "every setting that can be never and has a lift")
}

// TestAnswersNameTheHousesVerdict checks "was hold" where the table says outside.
func TestAnswersNameTheHousesVerdict(t *testing.T) {
	t.Parallel()
	opts := Options{Policy: Policy{Settings: map[string]Verdict{"S04": Hold, "S04/laboratory": Outside}}}
	held := Judge([]Finding{gas}, opts)
	require.Equal(t, Hold, held.Verdict)
	require.Equal(t, Outside, held.Lifts[0].To)
	answered := Judge([]Finding{gas, f("test_residue", "none")}, opts).Reasons[0]
	require.Equal(t, [3]string{"S04", "hold", "outside"}, [3]string{answered.RuleID, string(answered.From), string(answered.Verdict)})
}

func TestPolicyErrorsInWords(t *testing.T) {
	t.Parallel()
	for id, want := range map[string]string{
		"S04=inside": "S04: inside is beyond the bounds of this rule: choose outside, hold or never",
		"S04=maybe":  `S04: unknown verdict: "maybe": choose outside, hold or never`,
		"S18=inside": "S18 (arsenical preservative) cannot be set: it is published and cannot be softened",
		"S35=inside": "S35 (stain, spill, crust or oil) cannot be set: it is published and cannot be softened",
		"S03=never":  "S03 cannot be set: of this rule the house decides S03/aired",
		"S13=never":  "S13 (known domestic shipper, clean cargo, clean wood) cannot be set: it is common practice and not left to the house",
	} {
		rule, verdict, _ := strings.Cut(id, "=")
		err := Policy{Settings: map[string]Verdict{rule: Verdict(verdict)}}.Validate()
		require.EqualError(t, err, want)
	}
	err := Policy{Settings: map[string]Verdict{"S99": Never}}.Validate()
	require.ErrorIs(t, err, ErrNoRule)
	require.ErrorContains(t, err, "S99 is no rule and cannot be set: name one of S03/aired, S04")
}

func TestDiff(t *testing.T) {
	t.Parallel()
	before := []Judged{{"a", Outside}, {"b", Outside}, {"c", Inside}, {"d", Hold}, {"gone", Hold}}
	after := []Judged{{"b", Never}, {"a", Never}, {"c", Outside}, {"d", Hold}, {"new", Never}}
	moves := Diff(before, after)
	require.Equal(t, []Move{{Outside, Never, []string{"a", "b"}}, {Inside, Outside, []string{"c"}}}, moves)
	require.Equal(t, "2 lots would move from outside to never", moves[0].Sentence())
	require.Equal(t, "1 lot would move from inside to outside", moves[1].Sentence())
	require.Empty(t, Diff(before, before))
	require.Empty(t, Diff(nil, after))
}

// TestEffectOfAPolicyIsTold walks the way a keeper's change takes: judge, set,
// judge again, tell the difference.
func TestEffectOfAPolicyIsTold(t *testing.T) {
	t.Parallel()
	var before, after []Judged
	for id, findings := range map[string][]Finding{"k1": {gas}, "k2": {gas}, "k3": {heat}} {
		before = append(before, Judged{id, Judge(findings, Options{}).Verdict})
		after = append(after, Judged{id, Judge(findings, Options{Policy: Policy{Settings: map[string]Verdict{"S04": Never}}}).Verdict})
	}
	moves := Diff(before, after)
	require.Len(t, moves, 1)
	require.Equal(t, "2 lots would move from outside to never", moves[0].Sentence())
	require.Equal(t, []string{"k1", "k2"}, moves[0].IDs)
}
