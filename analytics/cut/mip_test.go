package cut

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// mip writes two-stage instances as a mixed-integer programme in LP form. It
// shares nothing with the solver: a strip variable for each board, width and
// height; a piece variable for each place in a strip that is clear; at any
// height one strip, at any place of a strip one piece.
type mip struct {
	in    Instance
	flip  bool
	goal  []string
	rows  []string
	whole []string
	made  [][]string // by part
	rip   int
	cross int
}

// newMIP writes the programme for a Rip2 or Crosscut2 instance.
func newMIP(in Instance) *mip {
	m := &mip{in: in, flip: in.Pattern == Crosscut2, made: make([][]string, len(in.Parts)), rip: in.Kerf.Rip, cross: in.Kerf.Crosscut}
	if m.flip {
		m.rip, m.cross = m.cross, m.rip
	}
	for b := range in.Boards {
		m.board(b)
	}
	for i, part := range in.Parts {
		sign := "<="
		if in.Objective == MinBoardCost {
			sign = ">="
		}
		if len(m.made[i]) > 0 {
			m.rows = append(m.rows, fmt.Sprintf("%s %s %d", strings.Join(m.made[i], " + "), sign, part.Max))
		}
	}
	return m
}

// turn exchanges a pair where strips run across the board.
func (m *mip) turn(a, b int) (int, int) {
	if m.flip {
		return b, a
	}
	return a, b
}

// board adds one board: at every height, of all strips that cover it or whose
// kerf does, there is one.
func (m *mip) board(b int) {
	length, width := m.turn(m.in.Boards[b].Length, m.in.Boards[b].Width)
	cover := make([][]string, width)
	var widths []int
	for _, part := range m.in.Parts {
		_, w := m.turn(part.Length, part.Width)
		widths = append(widths, w)
	}
	slices.Sort(widths)
	use := fmt.Sprintf("b%d", b)
	m.whole = append(m.whole, use)
	if m.in.Objective == MinBoardCost {
		m.goal = append(m.goal, fmt.Sprintf("%d %s", m.in.Boards[b].Cost, use))
	}
	for _, w := range slices.Compact(widths) {
		for v := 0; v+w <= width; v++ {
			name := fmt.Sprintf("s%d_%d_%d", b, w, v)
			if !m.strip(name, b, w, v, length) {
				continue
			}
			m.whole = append(m.whole, name)
			for y := v; y < min(width, v+w+m.rip); y++ {
				cover[y] = append(cover[y], name)
			}
		}
	}
	for _, names := range cover {
		if len(names) > 0 {
			m.rows = append(m.rows, fmt.Sprintf("%s - %s <= 0", strings.Join(names, " + "), use))
		}
	}
}

// strip adds the pieces of one strip and reports whether there are any.
func (m *mip) strip(name string, b, w, v, length int) bool {
	cover := make([][]string, length)
	any := false
	for i, part := range m.in.Parts {
		l, pw := m.turn(part.Length, part.Width)
		if pw != w {
			continue
		}
		for u := 0; u+l <= length; u++ {
			if !m.clear(b, part.Faces, u, v, l, w) {
				continue
			}
			piece := fmt.Sprintf("p%s_%d_%d", name[1:], i, u)
			any = true
			m.whole = append(m.whole, piece)
			m.made[i] = append(m.made[i], piece)
			if m.in.Objective == MaxValue {
				m.goal = append(m.goal, fmt.Sprintf("- %d %s", part.Value, piece))
			}
			for x := u; x < min(length, u+l+m.cross); x++ {
				cover[x] = append(cover[x], piece)
			}
		}
	}
	for _, names := range cover {
		if len(names) > 0 {
			m.rows = append(m.rows, fmt.Sprintf("%s - %s <= 0", strings.Join(names, " + "), name))
		}
	}
	return any
}

// clear reports whether a piece at u, v has the clear faces it needs.
func (m *mip) clear(b, faces, u, v, l, w int) bool {
	top, bottom := true, true
	for _, d := range m.in.Boards[b].Defects {
		x, y := m.turn(d.X, d.Y)
		dx, dy := m.turn(d.DX, d.DY)
		if x >= u+l || u >= x+dx || y >= v+w || v >= y+dy {
			continue
		}
		switch d.Face {
		case Top:
			top = false
		case Bottom:
			bottom = false
		default:
			return false
		}
	}
	return faces == 0 || faces == 1 && (top || bottom) || top && bottom
}

// solve runs the solver and returns the value of its plan and the seconds it
// took; proven is false where the time was up.
func (m *mip) solve(b *testing.B, solver string, limit time.Duration) (value int, seconds float64, proven bool) {
	b.Helper()
	var s strings.Builder
	fmt.Fprintf(&s, "Minimize\n goal: %s\nSubject To\n", sum(m.goal))
	for i, row := range m.rows {
		fmt.Fprintf(&s, " r%d: %s\n", i, strings.ReplaceAll(row, " + ", "\n  + "))
	}
	fmt.Fprintf(&s, "Binary\n %s\nEnd\n", strings.Join(m.whole, "\n "))
	file := filepath.Join(b.TempDir(), "model.lp")
	require.NoError(b, os.WriteFile(file, []byte(s.String()), 0o600))
	start := time.Now()
	out, err := exec.Command(solver, file, "-sec", fmt.Sprint(int(limit.Seconds())), "-solve", "-quit").CombinedOutput()
	seconds = time.Since(start).Seconds()
	require.NoError(b, err)
	found := regexp.MustCompile(`Objective value:\s+(-?[0-9.]+)`).FindSubmatch(out)
	if found == nil {
		return 0, seconds, false
	}
	f, err := strconv.ParseFloat(string(found[1]), 64)
	require.NoError(b, err)
	return int(math.Round(math.Abs(f))), seconds, strings.Contains(string(out), "Optimal solution found")
}

// sum writes terms line by line.
func sum(terms []string) string {
	var s strings.Builder
	for _, t := range terms {
		if !strings.HasPrefix(t, "-") {
			s.WriteString("+ ")
		}
		s.WriteString(t + "\n ")
	}
	return s.String()
}

// BenchmarkMIP solves the small two-stage cases by cbc, where Debian's
// coinor-cbc is installed, and by Solve, and prints how much longer cbc takes.
// cbc has a minute for each; what it proves must be what Solve proves.
func BenchmarkMIP(b *testing.B) {
	solver, err := exec.LookPath("cbc")
	if err != nil {
		b.Skip("cbc is not on the PATH: apt install coinor-cbc")
	}
	cases, best := cutting(b, "solved.json")
	for i, c := range cases {
		if p := c.Instance.Pattern; p != Rip2 && p != Crosscut2 || c.Instance.Boards[0].Length > 120 {
			continue // the programme has a row for every tick of every strip
		}
		b.Run(c.Instance.ID, func(b *testing.B) {
			for range b.N {
				m := measure(b, c.Instance, 20*time.Second)
				value, seconds, proven := newMIP(c.Instance).solve(b, solver, time.Minute)
				if proven {
					require.Equal(b, best[i], value)
				}
				b.ReportMetric(seconds/m.seconds, "ratio-of-mip-time")
				b.ReportMetric(float64(m.plan.Value)/float64(max(1, value)), "ratio-of-value-to-mip")
				b.ReportMetric(seconds, "s-mip")
				b.ReportMetric(map[bool]float64{true: 1}[proven], "mip-proven")
			}
		})
	}
}
