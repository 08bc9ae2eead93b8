package grade_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// TestPartsTable holds the embedded table to what was computed from it: 71
// parts, and the finished board feet of the common kits, rounded to a tenth.
func TestPartsTable(t *testing.T) {
	t.Parallel()
	parts := grade.Parts()
	require.Len(t, parts, 71)
	feet := map[string]float64{}
	for _, p := range parts {
		v := wood.VolumeOf(p.Finished.Thickness, p.Finished.Width, p.Finished.Length)
		feet[p.Kit] += float64(p.Count) * v.BoardFeet()
		require.Equal(t, inch/8, p.Rough.Thickness-p.Finished.Thickness)
		require.Equal(t, inch/4, p.Rough.Width-p.Finished.Width)
		require.Equal(t, inch, p.Rough.Length-p.Finished.Length)
		require.NotEmpty(t, p.Status)
		require.NotEmpty(t, p.Source)
		if p.Zone == grade.Outside {
			require.Zero(t, p.Faces)
		} else {
			require.Positive(t, p.Faces)
		}
	}
	for kit, want := range map[string]float64{
		"box deep 10-frame (box joint)": 3.6, "box medium 10-frame (box joint)": 2.5, "box shallow 10-frame (box joint)": 2.1,
		"floor solid 10-frame": 2.4, "telescoping cover 10-frame": 3.6, "inner cover 10-frame": 1.1, "slatted rack 10-frame": 1.8,
		"frame deep (one)": 0.2, "stand two-hive low": 7.0,
	} {
		require.InDelta(t, want, feet[kit], 0.0501, kit)
	}
}

func TestKits(t *testing.T) {
	t.Parallel()
	kits := grade.Kits()
	require.Equal(t, "box deep 10-frame (box joint)", kits[0].Name)
	require.Len(t, kits[0].Parts, 2)
	n := 0
	for _, k := range kits {
		n += len(k.Parts)
	}
	require.Len(t, grade.Parts(), n)
	grade.Parts()[0].Kit = "changed"
	require.Equal(t, kits, grade.Kits(), "callers get copies")
}

const partsHeading = "kit,part,count,thick_in,width_in,length_in,rough_thick_in,rough_width_in,rough_length_in,zone,faces,glue_up,usual_stock,status,source,note\n"

func TestParsePartsRefuses(t *testing.T) {
	t.Parallel()
	row := "box,side,2,0.75,9.625,19.875,0.875,9.875,20.875,inside,1,yes,1x12,checked,page,\n"
	_, err := grade.ParseParts([]byte(partsHeading + row))
	require.NoError(t, err)
	for name, table := range map[string]string{
		"empty":           "",
		"heading only":    partsHeading,
		"column missing":  strings.Replace(partsHeading, "zone,", "", 1) + row,
		"bad quotes":      partsHeading + "\"" + row,
		"words for count": partsHeading + strings.Replace(row, ",2,", ",two,", 1),
		"bad length":      partsHeading + strings.Replace(row, "19.875", "19 7/8", 1),
		"no number":       partsHeading + strings.Replace(row, "19.875", "NaN", 1),
		"zone":            partsHeading + strings.Replace(row, "inside", "hold", 1),
		"faces":           partsHeading + strings.Replace(row, "inside,1", "inside,9", 1),
		"glue":            partsHeading + strings.Replace(row, "yes", "maybe", 1),
		"rough too small": partsHeading + strings.Replace(row, "20.875", "19", 1),
		"too large":       partsHeading + strings.Repeat(" ", 1<<20),
	} {
		_, err := grade.ParseParts([]byte(table))
		require.ErrorIs(t, err, grade.ErrOption, name)
	}
}

func FuzzParseParts(f *testing.F) {
	table, err := os.ReadFile("hiveparts.csv")
	require.NoError(f, err)
	f.Add(table)
	f.Add([]byte(partsHeading))
	f.Add([]byte(partsHeading + "a,b,1,1e300,1,1,1,1,1,inside,0,no,,,,\n"))
	f.Fuzz(func(t *testing.T, table []byte) {
		parts, err := grade.ParseParts(table)
		if err != nil {
			require.ErrorIs(t, err, grade.ErrOption)
			return
		}
		for _, p := range parts {
			require.Positive(t, p.Finished.Length)
			require.GreaterOrEqual(t, p.Rough.Length, p.Finished.Length)
		}
	})
}

// FuzzBoard grades and measures boards of any numbers: an error or a sane
// answer.
func FuzzBoard(f *testing.F) {
	f.Add(int64(inch), int64(6*inch), int64(48*inch), int64(2*inch), int64(inch), int64(inch), int64(inch), uint8(0))
	f.Add(int64(1), int64(1), int64(1), int64(0), int64(0), int64(1), int64(1), uint8(9))
	f.Add(int64(inch), int64(wood.MaxLength), int64(wood.MaxLength), int64(7), int64(3), int64(foot), int64(5), uint8(77))
	f.Add(int64(-1), int64(1<<62), int64(-1<<63), int64(1<<62), int64(1<<62), int64(1<<62), int64(1<<62), uint8(255))
	f.Fuzz(func(t *testing.T, thick, wide, long, x, y, dx, dy int64, bits uint8) {
		b := grade.Board{Thickness: wood.Length(thick), Width: wood.Length(wide), Length: wood.Length(long)}
		faces := []grade.Face{grade.Top, grade.Bottom, grade.Both}
		for i := range int(bits % 4) {
			b.Defects = append(b.Defects, grade.Defect{
				Kind: grade.Kinds()[(int(bits)+i)%8], Face: faces[(int(bits)+i)%3], Metal: bits&8 != 0,
				X: wood.Length(x) * wood.Length(i+1), Y: wood.Length(y), DX: wood.Length(dx), DY: wood.Length(dy) * wood.Length(i+1),
			})
		}
		r, gradeErr := grade.Judge(b, grade.JudgeOptions{Effort: 2000})
		u, err := grade.UsableVolume(b, grade.HouseOptions())
		require.Equal(t, gradeErr == nil, err == nil)
		if err != nil {
			return
		}
		require.GreaterOrEqual(t, r.SurfaceMeasure, 0)
		require.GreaterOrEqual(t, float64(u.Clear), 0.0)
		require.LessOrEqual(t, float64(u.Clear), float64(u.Gross)*(1+1e-9))
		require.LessOrEqual(t, u.Share, 1.0)
	})
}
