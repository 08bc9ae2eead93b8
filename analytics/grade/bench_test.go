package grade_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// someBoards makes n boards with nails at the ends and in the middle and a few
// knots, splits and checks, as come out of crates and pallets.
func someBoards(n int, minFeet, maxFeet int) []grade.Board {
	rnd := rand.New(rand.NewPCG(1, 2))
	pick := func(low, high wood.Length) wood.Length {
		return low + wood.Length(rnd.Int64N(int64((high-low)/(inch/16)+1)))*(inch/16)
	}
	boards := make([]grade.Board, n)
	for i := range boards {
		b := grade.Board{Thickness: pick(inch/2, 3*inch/2), Width: pick(3*inch+inch/2, 12*inch), Length: pick(wood.Length(minFeet)*foot, wood.Length(maxFeet)*foot)}
		rows, _ := grade.NailRows{Rows: 3, Across: 2 + rnd.IntN(2), FromEnd: 2 * inch, Size: inch / 4}.Defects(b)
		b.Defects = rows
		for range rnd.IntN(5) {
			d := grade.Defect{Kind: grade.Kinds()[1+rnd.IntN(7)], Face: []grade.Face{grade.Top, grade.Bottom, grade.Both}[rnd.IntN(3)]}
			d.DX, d.DY = pick(inch/2, 6*inch), pick(inch/4, 2*inch)
			d.X, d.Y = pick(0, b.Length-d.DX), pick(0, b.Width-d.DY)
			b.Defects = append(b.Defects, d)
		}
		boards[i] = b
	}
	return boards
}

func BenchmarkJudge(b *testing.B) {
	for name, boards := range map[string][]grade.Board{"short": someBoards(200, 3, 5), "long": someBoards(200, 8, 14)} {
		b.Run(name, func(b *testing.B) {
			uncertain := 0
			for i := range b.N {
				r, err := grade.Judge(boards[i%len(boards)], grade.JudgeOptions{})
				if err != nil {
					b.Fatal(err)
				}
				if !r.Certain {
					uncertain++
				}
			}
			b.ReportMetric(float64(uncertain)/float64(b.N), "share-uncertain")
		})
	}
}

// BenchmarkUsable measures boards as they come out of pallets: without known
// defects, with through holes only, and with defects of single faces.
func BenchmarkUsable(b *testing.B) {
	spoiled := someBoards(400, 3, 5)
	bare, through := make([]grade.Board, len(spoiled)), make([]grade.Board, len(spoiled))
	for i, s := range spoiled {
		bare[i], through[i] = s, s
		bare[i].Defects = nil
		through[i].Defects = nil
		for _, d := range s.Defects {
			d.Face = grade.Both
			through[i].Defects = append(through[i].Defects, d)
		}
	}
	for _, c := range []struct {
		name   string
		boards []grade.Board
	}{{"bare", bare}, {"through", through}, {"one-faced", spoiled}} {
		b.Run(c.name, func(b *testing.B) {
			gap := 0.0
			for i := range b.N {
				u, err := grade.UsableVolume(c.boards[i%len(c.boards)], grade.HouseOptions())
				if err != nil {
					b.Fatal(err)
				}
				gap += float64(u.Bound-u.Clear) / float64(u.Gross)
			}
			b.ReportMetric(gap/float64(b.N), "mean-gap-of-gross")
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "boards/s")
		})
	}
}

// BenchmarkUsableRatio compares with the plan over every whole inch that the
// tests check against, on boards and parts in whole inches.
func BenchmarkUsableRatio(b *testing.B) {
	rnd := rand.New(rand.NewPCG(3, 4))
	boards := make([]grade.Board, 50)
	for i := range boards {
		boards[i] = grade.Board{Thickness: inch / 2, Width: wood.Length(4+rnd.IntN(8)) * inch, Length: wood.Length(30+rnd.IntN(30)) * inch}
		for range 6 {
			x, y := rnd.IntN(int(boards[i].Length/inch)), rnd.IntN(int(boards[i].Width/inch))
			boards[i].Defects = append(boards[i].Defects, face(grade.Both, grade.NailHole, x, y, 1, 1))
		}
	}
	opts := grade.UsableOptions{Parts: shortParts(), MinGlue: 2 * inch}
	m, err := grade.NewMeasurer(opts)
	if err != nil {
		b.Fatal(err)
	}
	start := time.Now()
	for _, board := range boards {
		bestRip(board, opts)
	}
	base := time.Since(start) / time.Duration(len(boards))
	b.ResetTimer()
	for i := range b.N {
		if _, err := m.Usable(boards[i%len(boards)]); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(base), "ratio-to-every-whole-inch")
}

// BenchmarkMaxCuttingsRatio compares with trying every cut at every whole inch.
func BenchmarkMaxCuttingsRatio(b *testing.B) {
	rnd := rand.New(rand.NewPCG(5, 6))
	searches, grids := make([]grade.Search, 20), make([]*grid, 20)
	for i := range searches {
		g := &grid{nx: 24, ny: 6, memo: map[[5]int]int{}, sizes: [][2]int{{6, 2}}}
		for range g.nx {
			g.spoiled = append(g.spoiled, make([]bool, g.ny))
		}
		s := grade.Search{Area: in(0, 0, g.nx, g.ny), Count: 3, Sizes: []grade.MinSize{{Length: 6 * inch, Width: 2 * inch}}}
		for range 4 {
			x, y := rnd.IntN(g.nx), rnd.IntN(g.ny)
			g.spoiled[x][y] = true
			s.Keepouts = append(s.Keepouts, in(x, y, 1, 1))
		}
		searches[i], grids[i] = s, g
	}
	start := time.Now()
	for _, g := range grids {
		g.best(0, g.nx, 0, g.ny, 3)
	}
	base := time.Since(start) / time.Duration(len(grids))
	b.ResetTimer()
	for i := range b.N {
		if _, err := grade.MaxCuttings(searches[i%len(searches)]); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(base), "ratio-to-every-whole-inch")
}
