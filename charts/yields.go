package charts

// Interval is one row of Yields.
type Interval struct {
	// Label names the row, Note stands small beside it: "7 drives".
	Label, Note string
	// Mean lies within the 50 % interval, and that within the 90 %.
	Mean       float64
	Lo50, Hi50 float64
	Lo90, Hi90 float64
	// Thin says that there is not enough evidence for more than a guess; the
	// row is drawn hollow and says so.
	Thin bool
}

// Yields shows what each source gives with its doubt: mean, 50 % and 90 %
// interval.
type Yields struct {
	// Title is the heading; "" means "Usable yield by source".
	Title string
	// Unit stands under the axis: "board feet a drive".
	Unit string
	// Rows are drawn by mean, the highest first.
	Rows []Interval
	// Reference is a second line to compare with, such as staying at home;
	// nil draws none. Zero always has its line.
	Reference *Mark
	// InOrder keeps the rows in the order given.
	InOrder bool
}

// Mark is a value with a name.
type Mark struct {
	Value float64
	Label string
}
