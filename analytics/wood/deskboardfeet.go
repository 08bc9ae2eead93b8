package wood

import "fmt"

// BoardFeetQuestion asks for the volume of Count equal boards.
type BoardFeetQuestion struct {
	Thickness, Width, Length Length
	// Count is the number of boards, 0 meaning one.
	Count int
	// Nominal says that thickness and width are a softwood's nominal size, not
	// measured.
	Nominal bool
}

// BoardFeetAnswer is the volume by actual size and, where the section is a
// dressed softwood's, by that trade's rule. Lengths are nanometres.
type BoardFeetAnswer struct {
	Count       int     `json:"count"`
	Thickness   Length  `json:"thickness_nm"`
	Width       Length  `json:"width_nm"`
	Length      Length  `json:"length_nm"`
	BoardFeet   float64 `json:"board_feet"`
	CubicMetres float64 `json:"cubic_metres"`
	// Softwood is nil where no softwood size is near.
	Softwood *SoftwoodTally `json:"softwood,omitempty"`
	Sources  []string       `json:"sources"`
}

// SoftwoodTally is the count of the softwood trade.
type SoftwoodTally struct {
	NominalThickness Length  `json:"nominal_thickness_nm"`
	NominalWidth     Length  `json:"nominal_width_nm"`
	BoardFeet        float64 `json:"board_feet"`
	// Guessed says that the nominal size was guessed from the measured one.
	Guessed bool `json:"guessed"`
}

// maxCount bounds the number of boards in one question.
const maxCount = 1_000_000

// AskBoardFeet answers q by VolumeOf, NominalOf, ActualOf and
// SoftwoodBoardFeet. Sides that are not above zero and counts beyond a million
// are ErrQuestion; a nominal size that PS 20 does not have is ErrNominal.
func AskBoardFeet(q BoardFeetQuestion) (BoardFeetAnswer, error) {
	if q.Count == 0 {
		q.Count = 1
	}
	if q.Thickness <= 0 || q.Width <= 0 || q.Length <= 0 || max(q.Thickness, q.Width, q.Length) > MaxLength {
		return BoardFeetAnswer{}, fmt.Errorf("volume %w: give thickness, width and length above 0", ErrQuestion)
	}
	if q.Count < 0 || q.Count > maxCount {
		return BoardFeetAnswer{}, fmt.Errorf("volume %w: give a count from 1 to %d", ErrQuestion, maxCount)
	}
	section := Section{q.Thickness, q.Width}
	var tally *SoftwoodTally
	if q.Nominal {
		actual, err := ActualOf(section, Dry)
		if err != nil {
			return BoardFeetAnswer{}, err
		}
		tally = &SoftwoodTally{NominalThickness: section.Thickness, NominalWidth: section.Width}
		section = actual
	} else if guess, err := NominalOf(section); err == nil {
		tally = &SoftwoodTally{NominalThickness: guess.Nominal.Thickness, NominalWidth: guess.Nominal.Width, Guessed: true}
	}
	v := VolumeOf(section.Thickness, section.Width, q.Length) * Volume(q.Count)
	a := BoardFeetAnswer{
		Count: q.Count, Thickness: section.Thickness, Width: section.Width, Length: q.Length,
		BoardFeet: v.BoardFeet(), CubicMetres: float64(v), Softwood: tally, Sources: []string{SourceBoardFeet},
	}
	if tally != nil {
		nominal := Section{tally.NominalThickness, tally.NominalWidth}
		tally.BoardFeet = SoftwoodBoardFeet(nominal, q.Length) * float64(q.Count)
		a.Sources = append(a.Sources, SourceSoftwoodTally, SourceNominal)
	}
	return a, nil
}
