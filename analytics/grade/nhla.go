package grade

import "skepwood/analytics/wood"

// Grade is a standard hardwood grade.
type Grade string

// The standard grades, the best first.
const (
	FAS     Grade = "FAS"
	F1F     Grade = "F1F"
	Selects Grade = "Selects"
	No1     Grade = "No. 1 Common"
	No2A    Grade = "No. 2A Common"
	No2B    Grade = "No. 2B Common"
	No3A    Grade = "No. 3A Common"
	No3B    Grade = "No. 3B Common"
	// Below is a board that makes none of them.
	Below Grade = "below grade"
)

// Grades returns the standard grades, the best first, without Below.
func Grades() []Grade { return []Grade{FAS, F1F, Selects, No1, No2A, No2B, No3A, No3B} }

// Way is one way to make a grade: at most Count cuttings that give at least
// Units cutting units.
type Way struct {
	// Name says which: "base", "extra cutting", "97 % rule", "small piece",
	// "all clear".
	Name string
	// Count is the greatest number of cuttings; 0 means unlimited.
	Count int
	// Units is what they must give.
	Units float64
	// Sizes are the least sizes of a cutting.
	Sizes []MinSize
	// FullWidth says that every cutting must span the board's full width.
	FullWidth bool
	// AllClear says that the face must be clear all over, whatever the units.
	AllClear bool
}

// The names of ways.
const (
	WayBase     = "base"
	WayExtra    = "extra cutting"
	WayFull     = "97 % rule"
	WaySmall    = "small piece"
	WayAllClear = "all clear"
)

// standard is the rule of a grade. The figures are those of the association's
// summary chart (National Hardwood Lumber Association, 2011 and 2019), checked
// against a second page.
type standard struct {
	// width and length are the least board.
	width, length wood.Length
	sizes         []MinSize
	// count is the number of cuttings for a surface measure, most its limit,
	// 0 for unlimited.
	count func(sm int) int
	most  int
	// times is the units needed for each square foot; extra the same with one
	// cutting more, for surface measures from extraFrom to extraTo.
	times, extra       int
	extraFrom, extraTo int
	// sound says that a cutting need only be sound, not clear.
	sound bool
}

var (
	fasSizes = []MinSize{{Width: 4 * wood.Inch, Length: 5 * wood.Foot}, {Width: 3 * wood.Inch, Length: 7 * wood.Foot}}
	no1Sizes = []MinSize{{Width: 4 * wood.Inch, Length: 2 * wood.Foot}, {Width: 3 * wood.Inch, Length: 3 * wood.Foot}}
	no2Sizes = []MinSize{{Width: 3 * wood.Inch, Length: 2 * wood.Foot}}
	// 36 square inches are 3 cutting units.
	no3BSizes = []MinSize{{Width: wood.Inch * 3 / 2, Units: 3}}
)

// standardOf returns the rule of a grade's better face.
func standardOf(g Grade) (standard, bool) {
	common := standard{width: 3 * wood.Inch, length: 4 * wood.Foot}
	switch g {
	case FAS, F1F:
		return fasStandard(6*wood.Inch, 8*wood.Foot), true
	case Selects:
		return fasStandard(4*wood.Inch, 6*wood.Foot), true
	case No1:
		common.sizes, common.most = no1Sizes, 5
		common.count = func(sm int) int { return (sm + 1) / 3 }
		common.times, common.extra, common.extraFrom, common.extraTo = 8, 9, 3, 10
		return common, true
	case No2A, No2B:
		common.sizes, common.most, common.sound = no2Sizes, 7, g == No2B
		common.count = func(sm int) int { return sm / 2 }
		common.times, common.extra, common.extraFrom, common.extraTo = 6, 8, 2, 7
		return common, true
	case No3A:
		common.sizes, common.times = no2Sizes, 4
		return common, true
	case No3B:
		common.sizes, common.times, common.sound = no3BSizes, 3, true
		return common, true
	default:
		return standard{}, false
	}
}

func fasStandard(width, length wood.Length) standard {
	return standard{
		width: width, length: length, sizes: fasSizes, most: 4,
		count: func(sm int) int { return sm / 4 },
		times: 10, extra: 11, extraFrom: 6, extraTo: 15,
	}
}

// Ways returns the ways in which a face of a board of surface measure sm and
// the given width makes the grade. F1F and Selects give the ways of their
// better face. A surface measure below 1 and an unknown grade have none.
func Ways(g Grade, sm int, width wood.Length) []Way {
	s, ok := standardOf(g)
	if !ok || sm < 1 {
		return nil
	}
	if s.count == nil {
		return []Way{{Name: WayBase, Units: float64(s.times * sm), Sizes: s.sizes}}
	}
	ways := smallWays(g, sm, s.sizes)
	if len(ways) > 0 && (g != No2A && g != No2B) {
		return ways
	}
	count := min(s.count(sm), s.most)
	if count > 0 {
		ways = append(ways, Way{Name: WayBase, Count: count, Units: float64(s.times * sm), Sizes: s.sizes})
	}
	if sm >= s.extraFrom && sm <= s.extraTo {
		ways = append(ways, Way{Name: WayExtra, Count: count + 1, Units: float64(s.extra * sm), Sizes: s.sizes})
	}
	if s.times == 10 && sm >= 6 && sm <= 12 && width >= 6*wood.Inch {
		ways = append(ways, Way{Name: WayFull, Count: 2, Units: 11.64 * float64(sm), FullWidth: true})
	}
	return ways
}

// smallWays returns the ways of pieces too small for the counting rule, read
// from the association's chart.
func smallWays(g Grade, sm int, sizes []MinSize) []Way {
	clear := Way{Name: WayAllClear, Count: 1, Units: float64(12 * sm), AllClear: true}
	small := func(times int) Way {
		return Way{Name: WaySmall, Count: 1, Units: float64(times * sm), Sizes: sizes}
	}
	switch {
	case g == Selects && (sm == 2 || sm == 3):
		return []Way{clear, small(11)}
	case g == No1 && sm == 1:
		return []Way{clear}
	case g == No1 && sm == 2:
		return []Way{small(9)}
	case (g == No2A || g == No2B) && sm == 1:
		return []Way{small(8)}
	default:
		return nil
	}
}
