package moisture_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
)

var readyNow = time.Date(2026, 7, 20, 18, 0, 0, 0, time.UTC)

// board makes readings of one board, so many days before readyNow each.
func board(id string, pairs ...float64) []moisture.Obs {
	var out []moisture.Obs
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, moisture.Obs{BoardID: id, At: readyNow.AddDate(0, 0, -int(pairs[i])), Percent: pairs[i+1], SD: 1, Shared: 0.7})
	}
	return out
}

func join(groups ...[]moisture.Obs) []moisture.Obs {
	var out []moisture.Obs
	for _, g := range groups {
		out = append(out, g...)
	}
	return out
}

func TestReadyMeansTargetSteadyAndEnough(t *testing.T) {
	t.Parallel()
	target, err := moisture.TargetFor("outside", "", "")
	require.NoError(t, err)
	wet := board("D", 1, 20)
	wet[0].Range, wet[0].Bound = moisture.RangeAbove, 30
	for name, c := range map[string]struct {
		obs    []moisture.Obs
		probes int
		accept int
		fails  []moisture.ReasonKind
	}{
		"ready":              {join(board("A", 8, 12.3, 1, 12.1), board("B", 8, 11.8, 1, 12.2), board("C", 1, 12.5)), 3, 0, nil},
		"too few boards":     {join(board("A", 8, 12.3, 1, 12.1), board("B", 8, 11.8, 1, 12.2)), 3, 0, []moisture.ReasonKind{moisture.ReasonEnough}},
		"every board needed": {join(board("A", 8, 12.3, 1, 12.1), board("B", 8, 11.8, 1, 12.2)), 0, 0, []moisture.ReasonKind{moisture.ReasonEnough}},
		"one wet":            {join(board("A", 8, 12.3, 1, 12.1), board("B", 8, 11.8, 1, 12.2), board("C", 1, 14.5)), 3, 0, []moisture.ReasonKind{moisture.ReasonTarget}},
		"one wet allowed":    {join(board("A", 8, 12.3, 1, 12.1), board("B", 8, 11.8, 1, 12.2), board("C", 1, 14.5)), 3, 1, nil},
		"above the meter":    {join(board("A", 8, 12.3, 1, 12.1), board("B", 8, 11.8, 1, 12.2), wet), 3, 0, []moisture.ReasonKind{moisture.ReasonTarget}},
		"mean too high":      {join(board("A", 8, 13.6, 1, 13.5), board("B", 8, 13.4, 1, 13.6), board("C", 1, 13.9)), 3, 0, []moisture.ReasonKind{moisture.ReasonTarget}},
		"still falling":      {join(board("A", 8, 15.5, 1, 12.1), board("B", 8, 15.3, 1, 12.2), board("C", 1, 12.5)), 3, 0, []moisture.ReasonKind{moisture.ReasonSteady}},
		"no pair":            {join(board("A", 1, 12.1), board("B", 1, 12.2), board("C", 1, 12.5)), 3, 0, []moisture.ReasonKind{moisture.ReasonSteady}},
		"a pair too close":   {join(board("A", 3, 12.1, 1, 12.1), board("B", 1, 12.2), board("C", 1, 12.5)), 3, 0, []moisture.ReasonKind{moisture.ReasonSteady}},
		"all old":            {join(board("A", 28, 12.3, 21, 12.1)), 1, 0, []moisture.ReasonKind{moisture.ReasonTarget, moisture.ReasonSteady, moisture.ReasonEnough}},
		"nothing":            {nil, 3, 0, []moisture.ReasonKind{moisture.ReasonTarget, moisture.ReasonSteady, moisture.ReasonEnough}},
	} {
		got, err := moisture.Ready(moisture.ReadyInput{Target: target, Obs: c.obs, Boards: 10, Probes: c.probes, Accept: c.accept, Now: readyNow})
		require.NoError(t, err, name)
		var fails []moisture.ReasonKind
		for _, r := range got.Reasons {
			require.NotEmpty(t, r.Text)
			if !r.OK {
				fails = append(fails, r.Kind)
			}
		}
		require.ElementsMatch(t, c.fails, fails, "%s: %+v", name, got.Reasons)
		require.Equal(t, len(c.fails) == 0, got.Ready, name)
	}
}

func TestReadyWarnsOfWoodThatWillSwell(t *testing.T) {
	t.Parallel()
	target, err := moisture.TargetFor("outside", "", "")
	require.NoError(t, err)
	got, err := moisture.Ready(moisture.ReadyInput{Target: target, Boards: 2, Probes: 1, Now: readyNow, Obs: board("A", 8, 7.4, 1, 7.2)})
	require.NoError(t, err)
	require.True(t, got.Ready)
	require.Equal(t, moisture.ReasonTooDry, got.Reasons[1].Kind)
}

func TestReadyRefuses(t *testing.T) {
	t.Parallel()
	good := moisture.ReadyInput{Boards: 2, Probes: 1, Now: readyNow, Obs: board("A", 1, 12)}
	for name, c := range map[string]struct {
		change func(*moisture.ReadyInput)
		want   error
	}{
		"no now":     {func(in *moisture.ReadyInput) { in.Now = time.Time{} }, moisture.ErrNoTime},
		"no boards":  {func(in *moisture.ReadyInput) { in.Boards = 0 }, moisture.ErrSetting},
		"probes":     {func(in *moisture.ReadyInput) { in.Probes = 3 }, moisture.ErrSetting},
		"future":     {func(in *moisture.ReadyInput) { in.Obs = board("A", -2, 12) }, moisture.ErrFuture},
		"impossible": {func(in *moisture.ReadyInput) { in.Obs = board("A", 2, 412) }, moisture.ErrPercent},
	} {
		in := good
		c.change(&in)
		_, err := moisture.Ready(in)
		require.ErrorIs(t, err, c.want, name)
	}
}

func TestTargets(t *testing.T) {
	t.Parallel()
	// Wood handbook Table 13-2, from memory: 12 on average, pieces 9 to 14;
	// 9 and 7 to 12 in the dry Southwest.
	outside, err := moisture.TargetFor("outside", "winter", "")
	require.NoError(t, err)
	require.Equal(t, [3]float64{12, 9, 14}, [3]float64{outside.Average, outside.Low, outside.High})
	require.Equal(t, moisture.StatusMemory, outside.Status)
	dry, err := moisture.TargetFor("outside", "summer", "dry")
	require.NoError(t, err)
	require.InDelta(t, 9, dry.Average, 0)
	summer, err := moisture.TargetFor("inside", "summer", "usual")
	require.NoError(t, err)
	winter, err := moisture.TargetFor("inside", "winter", "usual")
	require.NoError(t, err)
	require.Less(t, summer.High, winter.High)
	require.Less(t, winter.High, 20.0, "below where mould begins")
	unsaid, err := moisture.TargetFor("inside", "", "")
	require.NoError(t, err)
	require.Equal(t, summer, unsaid, "the drier one where nothing is said")
	for _, x := range moisture.Targets() {
		require.NotEmpty(t, x.Source)
		require.NotEmpty(t, x.Status)
	}
	for _, bad := range [][3]string{{"roof", "", ""}, {"inside", "monsoon", ""}, {"inside", "", "lunar"}} {
		_, err := moisture.TargetFor(bad[0], bad[1], bad[2])
		require.ErrorIs(t, err, moisture.ErrSetting)
	}
}
