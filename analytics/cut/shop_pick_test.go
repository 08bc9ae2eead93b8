package cut

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// rackOf reads boards of lines "code thickness×width×length", in eighths of an
// inch, with "out" behind those whose verdict is outside.
func rackOf(t *testing.T, lines ...string) (out []ShopBoard) {
	t.Helper()
	for _, line := range lines {
		var b ShopBoard
		var thick, wide, long wood.Length
		_, err := fmt.Sscanf(line, "%s %d×%d×%d", &b.Code, &thick, &wide, &long)
		require.NoError(t, err, line)
		b.Thickness, b.Width, b.Length = thick*wood.Inch/8, wide*wood.Inch/8, long*wood.Inch/8
		b.Inside = !strings.HasSuffix(line, " out")
		out = append(out, b)
	}
	return out
}

// partsOf reads parts the same way.
func partsOf(t *testing.T, lines ...string) (out []ShopPart) {
	t.Helper()
	for _, b := range rackOf(t, lines...) {
		out = append(out, ShopPart{Code: b.Code, Thickness: b.Thickness, Width: b.Width, Length: b.Length, Inside: b.Inside, Max: 1})
	}
	return out
}

func codesOf(s Shop, at []int) string {
	var out []string
	for _, i := range at {
		out = append(out, s.Boards[i].Code)
	}
	return strings.Join(out, " ")
}

// TestPickTakesTurns picks by hand.
func TestPickTakesTurns(t *testing.T) {
	t.Parallel()
	thin := []string{"A 6×20×80", "B 6×20×80", "C 6×20×80", "D 6×20×80"}
	thick := []string{"P 12×20×80", "Q 12×20×80"}
	both := slices.Concat(thin, thick)
	for name, c := range map[string]struct {
		boards, parts   []string
		rules           Rules
		limit           int
		picked, useless string
	}{
		"all fit":                              {boards: both, parts: []string{"rail 6×20×40", "post 12×20×40"}, limit: 6, picked: "A B C D P Q"},
		"a turn each":                          {boards: both, parts: []string{"rail 6×20×40", "post 12×20×40"}, limit: 4, picked: "A B P Q"},
		"an odd one goes to the thickest":      {boards: both, parts: []string{"rail 6×20×40", "post 12×20×40"}, limit: 3, picked: "A P Q"},
		"a thickness that runs out gives way":  {boards: both, parts: []string{"rail 6×20×40", "post 12×20×40"}, limit: 5, picked: "A B C P Q"},
		"thick wood for thin parts comes last": {boards: both, parts: []string{"rail 6×20×40"}, limit: 5, picked: "A B C D P"},
		"planing makes a board too thin":       {boards: both, parts: []string{"rail 6×20×40"}, rules: Rules{PlaneAllowance: wood.Inch / 8}, limit: 9, picked: "P Q", useless: "A B C D"},
		"jointing makes it too narrow":         {boards: both, parts: []string{"rail 6×20×40"}, rules: Rules{JointAllowance: 1}, limit: 9, useless: "A B C D P Q"},
		"ends make it too short":               {boards: []string{"A 6×20×80"}, parts: []string{"rail 6×20×72"}, rules: Rules{EndTrim: wood.Inch/2 + 1}, limit: 9, useless: "A"},
		"ends that just do":                    {boards: []string{"A 6×20×80"}, parts: []string{"rail 6×20×72"}, rules: Rules{EndTrim: wood.Inch / 2}, limit: 9, picked: "A"},
		"length added makes it too short":      {boards: []string{"A 6×20×80"}, parts: []string{"rail 6×20×80"}, rules: Rules{LengthAllowance: 1}, limit: 9, useless: "A"},
		"outside wood serves no inside part":   {boards: []string{"A 6×20×80 out", "B 6×20×80"}, parts: []string{"rail 6×20×40"}, limit: 9, picked: "B", useless: "A"},
		"outside wood that only inside could use for its thickness": {
			boards: []string{"A 6×20×80 out", "P 12×20×80 out"}, parts: []string{"rail 6×20×40", "post 12×20×40 out"}, limit: 9, picked: "P", useless: "A",
		},
		"useless ones count for nothing":         {boards: []string{"A 6×5×80", "B 6×20×10", "C 6×20×80"}, parts: []string{"rail 6×20×40"}, limit: 1, picked: "C", useless: "A B"},
		"within a thickness each size has turns": {boards: []string{"A 6×5×80", "B 6×5×80", "C 6×5×80", "W 6×20×80"}, parts: []string{"slat 6×5×40", "rail 6×20×40"}, limit: 2, picked: "A W"},
		"sizes alike have one turn": {
			boards: both, parts: []string{"r1 6×20×40", "r2 6×20×40", "r3 6×20×40", "post 12×20×40"}, limit: 4, picked: "A B P Q",
		},
		"not compared serves all": {boards: []string{"A 0×20×80", "B 6×20×80"}, parts: []string{"rail 6×20×40"}, limit: 1, picked: "A"},
		"none wanted":             {boards: thin, limit: 3, useless: "A B C D"},
		"none there":              {parts: []string{"rail 6×20×40"}, limit: 3},
		"no room":                 {boards: thin, parts: []string{"rail 6×20×40"}, limit: 0},
		"less than no room":       {boards: thin, parts: []string{"rail 6×20×40"}, limit: -1},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := Shop{Rules: c.rules, Boards: rackOf(t, c.boards...), Parts: partsOf(t, c.parts...)}
			picked, useless := s.Pick(c.limit)
			require.Equal(t, []string{c.picked, c.useless}, []string{codesOf(s, picked), codesOf(s, useless)})
		})
	}
}

// drawShop draws a rack and parts of few sizes, so that many are alike.
func drawShop(t *rapid.T) Shop {
	size := func(name string, of ...wood.Length) wood.Length {
		return rapid.SampledFrom(of).Draw(t, name) * wood.Inch / 8
	}
	var s Shop
	s.Rules = Rules{PlaneAllowance: size("plane", 0, 1), JointAllowance: size("joint", 0, 2), EndTrim: size("trim", 0, 4), CrosscutKerf: wood.Inch / 8}
	for i := range rapid.IntRange(0, 60).Draw(t, "boards") {
		s.Boards = append(s.Boards, ShopBoard{
			Code: fmt.Sprintf("%02d", i), Thickness: size("thick", 4, 6, 7, 12, 13, 20), Width: size("wide", 10, 20, 40), Length: size("long", 40, 80, 200),
			Inside: rapid.Bool().Draw(t, "inside"), DirtyEnd: size("dirty", 0, 8),
		})
	}
	for range rapid.IntRange(0, 8).Draw(t, "parts") {
		s.Parts = append(s.Parts, ShopPart{
			Thickness: size("part thick", 4, 6, 12, 20), Width: size("part wide", 8, 20, 60), Length: size("part long", 30, 79, 150), Inside: rapid.Bool().Draw(t, "part inside"), Max: 1,
		})
	}
	return s
}

// TestPickIsFair holds random picks against what is promised.
func TestPickIsFair(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := drawShop(t)
		limit := rapid.IntRange(0, 40).Draw(t, "limit")
		picked, useless := s.Pick(limit)
		require.LessOrEqual(t, len(picked), limit)
		require.True(t, slices.IsSorted(picked) && slices.IsSorted(useless))
		serves := func(b int, of wood.Length) bool { // of 0 means any thickness
			return slices.ContainsFunc(s.Parts, func(p ShopPart) bool { return (of == 0 || p.Thickness == of) && s.Rules.Serves(s.Boards[b], p) })
		}
		useful := 0
		for b := range s.Boards {
			require.Equal(t, !serves(b, 0), slices.Contains(useless, b), "board %d", b)
			if serves(b, 0) {
				useful++
			}
		}
		require.Len(t, picked, min(limit, useful), "no place stays empty")
		thick := map[wood.Length]bool{}
		for _, p := range s.Parts {
			thick[p.Thickness] = true
		}
		for of := range thick {
			there, got := 0, 0
			for b := range s.Boards {
				if serves(b, of) {
					there++
				}
			}
			for _, b := range picked {
				require.True(t, serves(b, 0), "a useless board is picked")
				if serves(b, of) {
					got++
				}
			}
			require.GreaterOrEqual(t, got, min(there, limit/len(thick)), "%v of %d thicknesses, %d boards serve it", of, len(thick), there)
		}
	})
}

// TestPickHasNoOrder shuffles boards and parts: the same boards are picked.
func TestPickHasNoOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := drawShop(t)
		limit := rapid.IntRange(0, 40).Draw(t, "limit")
		turned := Shop{Rules: s.Rules, Boards: slices.Clone(s.Boards), Parts: slices.Clone(s.Parts)}
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1))
		rng.Shuffle(len(turned.Boards), func(i, j int) { turned.Boards[i], turned.Boards[j] = turned.Boards[j], turned.Boards[i] })
		rng.Shuffle(len(turned.Parts), func(i, j int) { turned.Parts[i], turned.Parts[j] = turned.Parts[j], turned.Parts[i] })
		codes := func(s Shop) (picked, useless []string) {
			p, u := s.Pick(limit)
			picked, useless = strings.Fields(codesOf(s, p)), strings.Fields(codesOf(s, u))
			slices.Sort(picked)
			slices.Sort(useless)
			return picked, useless
		}
		p1, u1 := codes(s)
		p2, u2 := codes(turned)
		require.Equal(t, [2][]string{p1, u1}, [2][]string{p2, u2})
	})
}

// TestServesIsWhatThePlannerSees holds it against the planner's own instance:
// a board that a part fits on there serves it.
func TestServesIsWhatThePlannerSees(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := drawShop(t)
		s.Rules.Pattern, s.Rules.Objective = Rip2, MostValue
		in, _, err := s.Instance()
		require.NoError(t, err)
		for _, b := range in.Boards {
			for i, p := range in.Parts {
				fits := p.Length <= b.Length && p.Width <= b.Width && p.Needs&^b.Has == 0
				require.Equal(t, fits, s.Rules.Serves(s.Boards[b.ID], s.Parts[i]), "sizes are whole ticks here")
			}
		}
	})
}
