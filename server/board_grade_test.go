package server_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// TestGradeSaysWhichFaceDecides grades boards of 8 in by 8 ft, surface measure
// 5: clear ones, and ones with a defect on one face.
func TestGradeSaysWhichFaceDecides(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	lot := b.withWood().lot.Values["code"]
	board := func(defects ...map[string]string) string {
		e := b.add(db.Boards, map[string]string{"lot": lot, "thickness": "1", "width": "8", "length": "96", "looked_over": "yes"})
		for _, d := range defects {
			d["board"] = e.Values["code"]
			b.add(db.Defects, d)
		}
		return b.open("/boards/" + e.ID.String()).mainText()
	}
	says := board()
	require.Contains(t, says, "Grade: FAS")
	require.Contains(t, says, "Both faces make it.")
	// A stain 6 in wide across the bottom leaves 45 in on either side: no cutting
	// of 5 ft, two of No. 1 Common.
	stain := func() map[string]string {
		return map[string]string{"kind": "stain", "face": "bottom", "x": "45", "y": "0", "dx": "6", "dy": "8"}
	}
	says = board(stain())
	require.Contains(t, says, "Grade: F1F")
	require.Contains(t, says, "The better face, top, sets it; the other one, bottom, holds to No. 1 Common.")
	top := stain()
	top["face"], top["x"], top["dx"] = "top", "20", "50"
	says = board(stain(), top)
	require.Contains(t, says, "The poorer face decides: top.")
}
