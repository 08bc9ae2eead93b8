package grade_test

import (
	"fmt"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// A 6 in by 8 ft board with a stained end on its bottom face.
func ExampleJudge() {
	b := grade.Board{Thickness: wood.Inch, Width: 6 * wood.Inch, Length: 8 * wood.Foot, Mapped: true, Defects: []grade.Defect{
		{Kind: grade.Stain, Face: grade.Bottom, X: 66 * wood.Inch, DX: 30 * wood.Inch, DY: 6 * wood.Inch},
	}}
	r, err := grade.Judge(b, grade.JudgeOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, surface measure %d\n", r.Grade, r.SurfaceMeasure)
	for _, t := range r.Made {
		fmt.Printf("%s: %s with %g cutting units of %g\n", t.Face, t.Grade, t.Cuttings.Units, t.Way.Units)
	}
	fmt.Println(r.Limits[0] == grade.NotCertified)
	// Output:
	// F1F, surface measure 4
	// top: FAS with 48 cutting units of 40
	// bottom: No. 1 Common with 33 cutting units of 32
	// true
}

// A pallet's deck board with its nails pulled, and one that nobody looked over.
func ExampleUsableVolume() {
	b := grade.Board{Thickness: 3 * wood.Inch / 4, Width: 11 * wood.Inch / 2, Length: 48 * wood.Inch}
	nails, err := grade.NailRows{Rows: 3, Across: 3, FromEnd: 2 * wood.Inch}.Defects(b)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, defects := range [][]grade.Defect{nil, nails} {
		b.Defects = defects
		u, err := grade.UsableVolume(b, grade.HouseOptions())
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%.2f of %.2f board feet, known: %v\n", u.Clear.BoardFeet(), u.Gross.BoardFeet(), u.Known)
	}
	// Output:
	// 1.36 of 1.38 board feet, known: false
	// 1.20 of 1.38 board feet, known: true
}
