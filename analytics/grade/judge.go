package grade

import (
	"fmt"
	"slices"

	"skepwood/analytics/wood"
)

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
	// Clearance is kept round metal. Metal is a defect in any case.
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
	// Better and Poorer name the faces; Top is Better when both are alike.
	Better, Poorer Face
	// Made are the trials that carry the grade, the better face's first; none
	// for Below.
	Made []Trial
	// Trials are all trials, each face's from the best grade down to the first
	// that it makes, top before bottom.
	Trials []Trial
	// Certain says that no better grade was missed for lack of effort.
	Certain bool
	// Limits are sentences naming what was not judged. The first is
	// NotCertified.
	Limits []string
}

// Judge grades a board by the standard hardwood grades. Faults of the board
// are ErrBoard and ErrDefect, of the options ErrOption.
//
// Each face is tried from FAS downwards until it makes a grade, on clear
// cuttings whose reverse is sound; the poorer face sets the board's grade. A
// board whose better face makes FAS and whose poorer face makes No. 1 Common
// is F1F from 6 in by 8 ft, and Selects from 4 in by 6 ft.
func Judge(b Board, opts JudgeOptions) (Report, error) {
	if err := b.Validate(); err != nil {
		return Report{}, err
	}
	j := judging{board: b, opts: opts, sm: SurfaceMeasure(b.Width, b.Length, opts.Half)}
	top, err := j.face(Top)
	if err != nil {
		return Report{}, err
	}
	bottom, err := j.face(Bottom)
	if err != nil {
		return Report{}, err
	}
	r := Report{Grade: Below, SurfaceMeasure: j.sm, Certain: true, Limits: limits(b)}
	r.Trials = slices.Concat(top.trials, bottom.trials)
	for _, t := range r.Trials {
		r.Certain = r.Certain && t.Proven
	}
	r.settle(b, top, bottom)
	return r, nil
}

// judging is a board under judgement.
type judging struct {
	board Board
	opts  JudgeOptions
	sm    int
}

// faceResult is what a face makes.
type faceResult struct {
	face   Face
	trials []Trial
	// fas is the trial that would carry F1F or Selects, if made.
	fas *Trial
	// own is the standard grade by itself, common grades only below FAS.
	own *Trial
}

// rank returns the place of the face's own grade, the best 0.
func (f faceResult) rank() int {
	if f.own == nil {
		return len(Grades())
	}
	return slices.Index(Grades(), f.own.Grade)
}

// face tries one face from the best grade down to the first it makes.
func (j judging) face(f Face) (faceResult, error) {
	res := faceResult{face: f}
	for _, g := range Grades() {
		if g == F1F || (g == Selects && res.fas != nil) {
			continue
		}
		t, err := j.try(g, f)
		if err != nil {
			return faceResult{}, err
		}
		res.trials = append(res.trials, t)
		if !t.Made {
			continue
		}
		made := t
		if g == FAS || g == Selects {
			res.fas = &made
		}
		if g != Selects {
			res.own = &made
			break
		}
	}
	return res, nil
}

// settle finds the board's grade from its faces. Either face may be the better
// one; where both are alike the top is tried first.
func (r *Report) settle(b Board, top, bottom faceResult) {
	better, poorer := top, bottom
	if bottom.rank() < top.rank() {
		better, poorer = bottom, top
	}
	r.Better, r.Poorer = better.face, poorer.face
	if poorer.rank() == 0 {
		r.Grade, r.Made = FAS, []Trial{*better.own, *poorer.own}
		return
	}
	for _, pair := range [][2]faceResult{{better, poorer}, {poorer, better}} {
		if g := oneFace(b, pair[0], pair[1]); g != Below {
			r.Grade, r.Made = g, []Trial{*pair[0].fas, *pair[1].own}
			r.Better, r.Poorer = pair[0].face, pair[1].face
			return
		}
	}
	if poorer.own != nil {
		r.Grade, r.Made = poorer.own.Grade, []Trial{*better.own, *poorer.own}
	}
}

// oneFace returns F1F or Selects where the better face carries it and the
// poorer one holds to No. 1 Common, else Below.
func oneFace(b Board, better, poorer faceResult) Grade {
	common := slices.Index(Grades(), No1)
	switch {
	case better.fas == nil || poorer.rank() > common || commonSideFaults(b, poorer.face) != "":
		return Below
	case better.fas.Grade == FAS:
		return F1F
	default:
		return Selects
	}
}

// try tests a face against a grade, way by way.
func (j judging) try(g Grade, f Face) (Trial, error) {
	s, _ := standardOf(g)
	t := Trial{Grade: g, Face: f, Proven: true}
	b := j.board
	switch {
	case b.Width < s.width:
		t.Why = fmt.Sprintf("the board is %s wide, less than %s", b.Width.Format(wood.UnitInch), s.width.Format(wood.UnitInch))
		return t, nil
	case b.Length < s.length:
		t.Why = fmt.Sprintf("the board is %s long, less than %d ft", b.Length.Format(wood.UnitInch), s.length/wood.Foot)
		return t, nil
	}
	if s.times == 10 {
		if t.Why = fasFaults(b, f, j.sm); t.Why != "" {
			return t, nil
		}
	}
	keepouts := j.keepouts(f, s.sound)
	for _, w := range Ways(g, j.sm, b.Width) {
		c, err := j.cut(w, keepouts)
		if err != nil {
			return Trial{}, err
		}
		made := c.Units >= w.Units-1e-9 || (w.AllClear && len(keepouts) == 0)
		if made {
			t.Made, t.Proven, t.Way, t.Cuttings, t.Why = true, true, w, c, ""
			return t, nil
		}
		t.Proven = t.Proven && (c.Proven || w.AllClear)
		if t.Why == "" || w.Units-c.Units < t.Way.Units-t.Cuttings.Units {
			t.Way, t.Cuttings, t.Why = w, c, short(w, c)
		}
	}
	return t, nil
}

// short says how far a way was missed.
func short(w Way, c Cuttings) string {
	switch {
	case w.AllClear:
		return "the face is not clear all over"
	case !c.Proven:
		return fmt.Sprintf("%.4g cutting units found and %.4g needed; the search gave up at a bound of %.4g", c.Units, w.Units, c.Bound)
	default:
		return fmt.Sprintf("%.4g cutting units found, %.4g needed", c.Units, w.Units)
	}
}

// keepouts returns what spoils a cutting: on a clear face whatever shows on it
// and what makes its reverse unsound; for sound cuttings whatever is unsound.
func (j judging) keepouts(f Face, soundOnly bool) []Rect {
	return j.board.keepouts(j.opts.Clearance, func(d Defect) bool {
		return !sound(d) || (!soundOnly && j.board.Shows(d, f))
	})
}

// cut searches for the cuttings of a way.
func (j judging) cut(w Way, keepouts []Rect) (Cuttings, error) {
	if w.AllClear && len(keepouts) == 0 {
		all := j.board.Rect()
		return Cuttings{Rects: []Rect{all}, Units: all.Units(), Bound: all.Units(), Proven: true}, nil
	}
	s := Search{Area: j.board.Rect(), Keepouts: keepouts, Count: w.Count, Sizes: w.Sizes, Goal: w.Units, Effort: j.opts.Effort}
	if w.FullWidth {
		s.Keepouts = slices.Clone(keepouts)
		for i := range s.Keepouts {
			s.Keepouts[i].Y, s.Keepouts[i].DY = 0, j.board.Width
		}
	}
	return MaxCuttings(s)
}
