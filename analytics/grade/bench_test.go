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
