package grade_test

import (
	"math/rand/v2"
	"testing"

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
