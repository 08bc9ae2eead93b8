package server

import (
	"fmt"
	"net/http"

	"skepwood/analytics/grade"
	"skepwood/analytics/screen"
	"skepwood/db"
)

// gradePart is the grade of a board as its page shows it.
type gradePart struct {
	grade.Report
	// Faces are the trials that carry the grade, or came closest, one for each
	// face.
	Faces []faceTrial
	// Hold is what keeps the board from the grade above, by face.
	Above []faceTrial
	// Alt says what the picture shows.
	Alt string
	// Usable is what it gives in blanks.
	Usable grade.Usable
	// Bound is what no ripping plan exceeds, in cubic metres.
	Bound     float64
	UsableAlt string
	Blanks    []blankLine
	Zone      string
}

// Decides says which face set the grade: the poorer one, but for grades that go
// by the better one.
func (p gradePart) Decides() string {
	switch {
	case p.Grade == grade.F1F || p.Grade == grade.Selects:
		return fmt.Sprintf("The better face, %s, sets it; the other one, %s, holds to No. 1 Common.", p.Better, p.Poorer)
	case len(p.Made) == 2 && p.Made[0].Grade == p.Made[1].Grade:
		return "Both faces make it."
	case p.Grade == grade.Below:
		return ""
	}
	return fmt.Sprintf("The poorer face decides: %s.", p.Poorer)
}

// faceTrial is the test of one face in words.
type faceTrial struct {
	grade.Trial
	FaceName string
	// Needed and Found are cutting units.
	Needed, Found string
}

// blankLine counts blanks of one part and size.
type blankLine struct {
	Kit, Part, Size string
	Count           int
}

// sources of what the board's page computes.
var gradeSources = []string{
	"National Hardwood Lumber Association, Rules for the measurement and inspection of hardwood and cypress, editions 2011 and 2019, summary chart",
	"Wengert G, Understanding hardwood lumber grading, Independent Sawmill and Woodlot, 1998",
	"Forest Products Laboratory, Wood handbook, FPL-GTR-190, 2010, chapter 6",
}

// gradeBoard works out grade and blanks of a board.
func (b bench) grade(env db.Env) (gradePart, error) {
	report, err := grade.Judge(b.Wood, grade.JudgeOptions{Clearance: b.Widths.Clearance})
	if err != nil {
		return gradePart{}, err
	}
	p := gradePart{Report: report, Zone: "every part of the house's kits"}
	for _, t := range b.carrying(report) {
		p.Faces = append(p.Faces, newFaceTrial(t))
	}
	for _, t := range report.Trials {
		if !t.Made && t.Why != "" {
			p.Above = append(p.Above, newFaceTrial(t))
		}
	}
	p.Alt = fmt.Sprintf("Board %s with the cuttings that make it %s", b.Board.Code, report.Grade)
	if report.Grade == grade.Below {
		p.Alt = fmt.Sprintf("Board %s with the cuttings that came closest to a grade", b.Board.Code)
	}
	if p.Usable, err = b.usable(); err != nil {
		return p, err
	}
	p.Bound = float64(p.Usable.Bound)
	if screen.Verdict(b.Row.Verdict) == screen.Outside {
		p.Zone = "the parts that bees do not touch"
	}
	p.UsableAlt = fmt.Sprintf("Board %s with %s ripped and crosscut from its clear wood", b.Board.Code, plural(len(p.Usable.Blanks), "blank", "blanks"))
	p.Blanks = countBlanks(p.Usable.Blanks, env)
	return p, nil
}

// usable asks the function that stored the board's usable volume.
func (b bench) usable() (grade.Usable, error) {
	return grade.UsableVolume(b.Wood, b.Widths.UsableOptions(screen.Verdict(b.Row.Verdict)))
}

// carrying returns the trials to draw: those that carry the grade, or each
// face's last one.
func (b bench) carrying(r grade.Report) []grade.Trial {
	if len(r.Made) > 0 {
		return r.Made
	}
	last := map[grade.Face]grade.Trial{}
	for _, t := range r.Trials {
		if len(t.Cuttings.Rects) > 0 || last[t.Face].Grade == "" {
			last[t.Face] = t
		}
	}
	return []grade.Trial{last[r.Better], last[r.Poorer]}
}

func newFaceTrial(t grade.Trial) faceTrial {
	f := faceTrial{Trial: t, FaceName: string(t.Face), Found: fmt.Sprintf("%.4g", t.Cuttings.Units)}
	if t.Way.Units > 0 {
		f.Needed = fmt.Sprintf("%.4g", t.Way.Units)
	}
	return f
}

// countBlanks gathers blanks of one part and size.
func countBlanks(blanks []grade.Blank, env db.Env) []blankLine {
	var out []blankLine
	at := map[string]int{}
	for _, k := range blanks {
		line := blankLine{Kit: k.Kit, Part: k.Part, Size: sized(k.Rect, env.Length)}
		key := line.Kit + "\x1f" + line.Part + "\x1f" + line.Size
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			out = append(out, line)
		}
		out[i].Count++
	}
	return out
}

// gradePicture draws the cuttings that carry the grade, each face's own.
func gradePicture(b bench, _ *http.Request, env db.Env) (boardPicture, error) {
	p := boardPicture{Board: b.Wood, Faces: []grade.Face{grade.Top, grade.Bottom}, Clearance: b.Widths.Clearance, Unit: env.Length}
	report, err := grade.Judge(b.Wood, grade.JudgeOptions{Clearance: b.Widths.Clearance})
	if err != nil {
		return p, err
	}
	p.Label = fmt.Sprintf("Cuttings on board %s, %s", b.Board.Code, report.Grade)
	for _, t := range b.carrying(report) {
		for _, c := range t.Cuttings.Rects {
			p.Pieces = append(p.Pieces, drawnPiece{Rect: c, Face: t.Face, Label: sized(c, env.Length)})
		}
	}
	return p, nil
}

// usablePicture draws the blanks on the top face.
func usablePicture(b bench, _ *http.Request, env db.Env) (boardPicture, error) {
	p := boardPicture{Board: b.Wood, Faces: []grade.Face{grade.Top}, Clearance: b.Widths.Clearance, Unit: env.Length}
	u, err := b.usable()
	if err != nil {
		return p, err
	}
	p.Label = fmt.Sprintf("Blanks on board %s", b.Board.Code)
	for _, k := range u.Blanks {
		p.Pieces = append(p.Pieces, drawnPiece{Rect: k.Rect, Face: grade.Top, Label: k.Part})
	}
	return p, nil
}
