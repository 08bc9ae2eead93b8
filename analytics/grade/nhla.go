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
	// Name says which: "base", "extra cutting", "97 % rule", "one piece".
	Name string
	// Count is the greatest number of cuttings; 0 means unlimited.
	Count int
	// Units is what they must give.
	Units float64
	// FullWidth says that every cutting must span the board's full width.
	FullWidth bool
	// Sizes are the least sizes of a cutting.
	Sizes []MinSize
}

// Ways returns the ways in which a face of a board of surface measure sm and
// the given width makes the grade. F1F and Selects give the ways of their
// better face. A surface measure below 1 has none.
func Ways(g Grade, sm int, b Board) []Way { return nil }

// Trial is the test of one face against one grade.
type Trial struct {
	Grade Grade
	Face  Face
	// Made says that the face makes the grade.
	Made bool
	// Proven says that the answer is certain within what is judged; without
	// it Made is false and the search ran out of effort.
	Proven bool
	// Way is the way by which it is made, or the one that came closest.
	Way Way
	// Cuttings are what was found for Way.
	Cuttings Cuttings
	// Why says in words why it is not made, "" when it is.
	Why string
}

// JudgeOptions tune Judge. The zero value works.
type JudgeOptions struct {
	// Half is the rounding of an exact half in the surface measure.
	Half Half
	// Clearance is kept round metal; a negative value means
	// DefaultClearance. Metal is judged as a defect in any case.
	Clearance wood.Length
	// Effort bounds each search; 0 means DefaultEffort.
	Effort int
}

// Report is the grade of a board with its reasons.
type Report struct {
	// Grade is the board's grade, from the poorer face but for F1F and
	// Selects, or Below.
	Grade Grade
	// SurfaceMeasure is in whole square feet.
	SurfaceMeasure int
	// Better and Poorer name the faces.
	Better, Poorer Face
	// Made are the trials that carry the grade: one for the poorer face, and
	// before it, for F1F and Selects, the better face's.
	Made []Trial
	// Trials are all trials, the best grade first, top before bottom.
	Trials []Trial
	// Certain says that no better grade was missed for lack of effort.
	Certain bool
	// Limits are sentences naming what was not judged. The first says that
	// this is no certified grade.
	Limits []string
}

// Judge grades a board by the standard hardwood grades. Faults of the board
// are ErrBoard and ErrDefect.
func Judge(b Board, opts JudgeOptions) (Report, error) { return Report{}, nil }
