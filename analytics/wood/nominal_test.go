package wood_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

func inches(t require.TestingT, s string) wood.Length {
	l, err := wood.ParseLength(s, wood.UnitInch)
	require.NoError(t, err)
	return l
}

func section(t require.TestingT, thick, wide string) wood.Section {
	return wood.Section{Thickness: inches(t, thick), Width: inches(t, wide)}
}

// Rows of PS 20, read on two pages.
func TestActualOf(t *testing.T) {
	t.Parallel()
	for _, tc := range [][6]string{
		{"1", "6", "3/4", "5 1/2", "25/32", "5 5/8"},
		{"1", "4", "3/4", "3 1/2", "25/32", "3 9/16"},
		{"2", "4", "1 1/2", "3 1/2", "1 9/16", "3 9/16"},
		{"1 1/4", "8", "1", "7 1/4", "1 1/32", "7 1/2"},
		{"2", "12", "1 1/2", "11 1/4", "1 9/16", "11 1/2"},
		{"4", "16", "3 1/2", "15 1/4", "3 9/16", "15 1/2"},
		{"3/8", "2", "5/16", "1 1/2", "11/32", "1 9/16"},
	} {
		nominal := section(t, tc[0], tc[1])
		got, err := wood.ActualOf(nominal, wood.Dry)
		require.NoError(t, err)
		require.Equal(t, section(t, tc[2], tc[3]), got)
		got, err = wood.ActualOf(nominal, wood.Green)
		require.NoError(t, err)
		require.Equal(t, section(t, tc[4], tc[5]), got)
	}
	_, err := wood.ActualOf(section(t, "1 1/8", "6"), wood.Dry)
	require.ErrorIs(t, err, wood.ErrNominal)
	_, err = wood.ActualOf(section(t, "1", "13"), wood.Dry)
	require.ErrorIs(t, err, wood.ErrNominal)
}

var (
	nominalThick = []string{"3/8", "1/2", "5/8", "3/4", "1", "1 1/4", "1 1/2", "2", "2 1/2", "3", "4"}
	nominalWide  = []string{"2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12", "14", "16"}
)

// Every size of the table is guessed back from what it measures, and still when
// it has shrunk or swollen a little.
func TestNominalOfIsInverse(t *testing.T) {
	t.Parallel()
	for _, th := range nominalThick {
		for _, w := range nominalWide {
			for _, s := range []wood.Seasoning{wood.Dry, wood.Green} {
				nominal := section(t, th, w)
				actual, err := wood.ActualOf(nominal, s)
				require.NoError(t, err)
				guess, err := wood.NominalOf(actual)
				require.NoError(t, err)
				require.Equal(t, wood.NominalGuess{Nominal: nominal, Seasoning: s}, guess)
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		nominal := section(t, "1", rapid.SampledFrom(nominalWide).Draw(t, "w"))
		actual, err := wood.ActualOf(nominal, wood.Dry)
		require.NoError(t, err)
		move := rapid.Float64Range(-0.02, 0.02).Draw(t, "move")
		actual.Width += wood.Length(move * float64(actual.Width))
		guess, err := wood.NominalOf(actual)
		require.NoError(t, err)
		require.Equal(t, nominal, guess.Nominal)
	})
}

func TestNominalOfRefusesRough(t *testing.T) {
	t.Parallel()
	for _, tc := range [][2]string{
		{"1", "6"}, // rough 1 by 6: no dressed size is within 1/2 in of the width
		{"7/8", "3 1/8"}, {"3/4", "20"}, {"6", "5 1/2"}, {"0", "0"},
	} {
		_, err := wood.NominalOf(section(t, tc[0], tc[1]))
		require.ErrorIs(t, err, wood.ErrNominal, "%v", tc)
	}
}

func TestBoardFeet(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 0.002359737216, float64(wood.BoardFoot), 1e-18)
	require.InDelta(t, 4, wood.VolumeOf(wood.Inch, 6*wood.Inch, 96*wood.Inch).BoardFeet(), 1e-12) // read
	require.InDelta(t, 1, wood.FromBoardFeet(1).BoardFeet(), 1e-15)
	require.InDelta(t, 12, wood.CubicFoot.BoardFeet(), 1e-12)
	require.InDelta(t, 1, wood.CubicFoot.CubicFeet(), 1e-15)
	require.InDelta(t, 0.0254*0.0254*0.0254, wood.CubicInch.CubicMetres(), 1e-18)
	// 1 x 8 nominal, 10 ft: 6.67 bf nominal, 4.53 by actual size (derived).
	nominal := section(t, "1", "8")
	require.InDelta(t, 6.67, wood.SoftwoodBoardFeet(nominal, 10*wood.Foot), 0.005)
	actual, err := wood.ActualOf(nominal, wood.Dry)
	require.NoError(t, err)
	require.InDelta(t, 4.53, wood.VolumeOf(actual.Thickness, actual.Width, 10*wood.Foot).BoardFeet(), 0.005)
	// Under 1 in counts as 1 in.
	require.InDelta(t, 6.0, wood.SoftwoodBoardFeet(section(t, "1/2", "6"), 12*wood.Foot), 1e-12)
}
