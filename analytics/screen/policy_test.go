package screen

import (
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
