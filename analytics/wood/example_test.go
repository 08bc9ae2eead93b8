package wood_test

import (
	"fmt"

	"skepwood/analytics/wood"
)

func ExampleParseLength() {
	for _, s := range []string{"5-1/2\"", "6' 2 ½″", "14 cm"} {
		l, err := wood.ParseLength(s, wood.UnitInch)
		fmt.Println(l.Format(wood.UnitInch), "=", l, err)
	}
	_, err := wood.ParseLength("1,250", wood.UnitMillimetre)
	fmt.Println(err)
	// Output:
	// 5 1/2 in = 139.7 mm <nil>
	// 74 1/2 in = 1892.3 mm <nil>
	// 5 33/64 in = 140 mm <nil>
	// bad length "1,250": the comma could separate thousands or decimals; write it like 5 1/2, 5.5 in, 6' 2 1/2" or 140 mm
}

func ExampleMovement_Resize() {
	fir, err := wood.FindMovement("white fir")
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := fir.Resize(wood.Change{Size: 232 * wood.Millimetre, Grain: wood.FlatSawn, From: 8, To: 11})
	fmt.Println(r.Worst.Format(wood.UnitMillimetre), r.Status, err)
	// Output: 233.7 mm checked <nil>
}
