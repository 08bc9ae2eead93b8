package charts_test

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"image"
	_ "image/png"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/cmpimg"

	"skepwood/charts"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// TestGolden compares each picture with one that was looked at. Edges may
// differ a little where another processor rounds otherwise.
func TestGolden(t *testing.T) {
	t.Parallel()
	for name, pic := range samples() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, err := charts.Render(pic, charts.PNG, charts.Style{Width: 358, Density: 1})
			require.NoError(t, err)
			file := filepath.Join("testdata", "golden", name+"-358-light.png")
			if *update {
				require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
				require.NoError(t, os.WriteFile(file, got, 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			same, err := cmpimg.EqualApprox("png", got, want, 0.05)
			require.NoError(t, err)
			require.True(t, same, "%s has changed; look at it and run the test with -update", file)
		})
	}
}

// words is a text of an SVG with the room it takes.
type words struct {
	text               string
	left, right        float64
	baseline, fontSize float64
}

func (w words) overlaps(o words) bool {
	// Letters reach about 0.75 of their size above the baseline and 0.2 below.
	return w.left < o.right && o.left < w.right &&
		w.baseline-0.75*w.fontSize < o.baseline+0.2*o.fontSize && o.baseline-0.75*o.fontSize < w.baseline+0.2*w.fontSize
}

// drawing is what the tests want to know of an SVG.
type drawing struct {
	width       float64
	title, desc string
	words       []words
	inks        map[string]bool
}

// parse reads an SVG strictly and refuses what the pages must not serve.
func parse(t require.TestingT, svg []byte) drawing {
	d := drawing{inks: map[string]bool{}}
	dec := xml.NewDecoder(bytes.NewReader(svg))
	var path []string
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(strings.TrimSuffix(s, "px"), 64)
		require.NoError(t, err)
		return v
	}
	for {
		tok, err := dec.Token()
		if tok == nil {
			require.ErrorContains(t, err, "EOF")
			break
		}
		switch e := tok.(type) {
		case xml.StartElement:
			path = append(path, e.Name.Local)
			at := map[string]string{}
			for _, a := range e.Attr {
				at[a.Name.Local] = a.Value
				require.NotEqual(t, "style", a.Name.Local, "style attributes turn black under a strict policy")
			}
			require.Contains(t, []string{"svg", "title", "desc", "g", "path", "text"}, e.Name.Local)
			for _, ink := range []string{at["fill"], at["stroke"]} {
				if ink != "" && ink != "none" {
					d.inks[ink] = true
				}
			}
			switch e.Name.Local {
			case "svg":
				d.width = number(strings.Fields(at["viewBox"])[2])
			case "text":
				w := words{left: number(at["x"]), baseline: number(at["y"]), fontSize: number(at["font-size"])}
				w.right = w.left + w.fontSize
				if at["textLength"] != "" {
					w.right = w.left + number(at["textLength"])
				}
				d.words = append(d.words, w)
			}
		case xml.CharData:
			switch path[max(0, len(path)-1):][0] {
			case "title":
				d.title += string(e)
			case "desc":
				d.desc += string(e)
			case "text":
				d.words[len(d.words)-1].text += string(e)
			}
		case xml.EndElement:
			path = path[:len(path)-1]
			if len(path) == 0 {
				path = append(path, "")
			}
		}
	}
	return d
}

// requireTidy wants every text whole and no two of them on each other.
func requireTidy(t require.TestingT, d drawing) {
	for i, w := range d.words {
		require.GreaterOrEqual(t, w.left, -0.01, "%q is cut off on the left", w.text)
		require.LessOrEqual(t, w.right, d.width+0.01, "%q is cut off on the right", w.text)
		for _, o := range d.words[i+1:] {
			require.False(t, w.overlaps(o), "%q and %q overlap", w.text, o.text)
		}
	}
}

func TestSVG(t *testing.T) {
	t.Parallel()
	for name, pic := range samples() {
		for _, width := range []int{charts.MinWidth, 358, 960} {
			for _, theme := range []charts.Theme{charts.Light, charts.Dark} {
				t.Run(fmt.Sprintf("%s %d %s", name, width, theme), func(t *testing.T) {
					t.Parallel()
					svg, err := charts.Render(pic, charts.SVG, charts.Style{Width: width, Theme: theme})
					require.NoError(t, err)
					d := parse(t, svg)
					require.NotEmpty(t, d.title)
					require.Equal(t, pic.Words(), d.desc)
					require.Contains(t, string(svg), fmt.Sprintf(`width="%d"`, width))
					require.NotContains(t, d.inks, "#000000", "black is no colour of the palette")
					requireTidy(t, d)
					require.Less(t, len(svg), 60_000)
				})
			}
		}
	}
}

func TestTransparent(t *testing.T) {
	t.Parallel()
	pic := samples()["value"]
	for transparent, want := range map[bool]uint32{false: 0xffff, true: 0} {
		raw, err := charts.Render(pic, charts.PNG, charts.Style{Width: 300, Transparent: transparent, Density: 1})
		require.NoError(t, err)
		img, _, err := image.Decode(bytes.NewReader(raw))
		require.NoError(t, err)
		require.Equal(t, 300, img.Bounds().Dx())
		_, _, _, alpha := img.At(1, 1).RGBA()
		require.Equal(t, want, alpha)
	}
}

func TestDensity(t *testing.T) {
	t.Parallel()
	raw, err := charts.Render(charts.Yields{}, charts.PNG, charts.Style{Width: 358, Density: 3})
	require.NoError(t, err)
	img, _, err := image.DecodeConfig(bytes.NewReader(raw))
	require.NoError(t, err)
	require.Equal(t, 3*358, img.Width)

	rows := make([]charts.Fate, 500)
	raw, err = charts.Render(charts.Fates{Rows: rows}, charts.PNG, charts.Style{Width: charts.MaxWidth, Density: 4})
	require.NoError(t, err)
	img, _, err = image.DecodeConfig(bytes.NewReader(raw))
	require.NoError(t, err)
	require.Less(t, img.Width*img.Height, 25_000_000, "a large picture gives up density")
}

func TestRenderRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		f    charts.Format
		s    charts.Style
		want error
	}{
		{"gif", charts.Style{}, charts.ErrFormat},
		{charts.SVG, charts.Style{Width: 100}, charts.ErrSize},
		{charts.SVG, charts.Style{Width: 5000}, charts.ErrSize},
		{charts.PNG, charts.Style{Density: 9}, charts.ErrSize},
		{charts.PNG, charts.Style{Density: nan}, charts.ErrSize},
		{charts.SVG, charts.Style{Theme: "sepia"}, charts.ErrTheme},
	} {
		_, err := charts.Render(charts.Yields{}, c.f, c.s)
		require.ErrorIs(t, err, c.want)
	}
	require.Equal(t, "image/svg+xml", charts.SVG.ContentType())
	require.Equal(t, "image/png", charts.PNG.ContentType())
}

// TestRenderTogether draws the same pictures from several goroutines: equal
// input gives equal bytes.
func TestRenderTogether(t *testing.T) {
	t.Parallel()
	for name, pic := range samples() {
		want, err := charts.Render(pic, charts.SVG, charts.Style{})
		require.NoError(t, err)
		var wait sync.WaitGroup
		got := make([][]byte, 4)
		for i := range got {
			wait.Go(func() { got[i], _ = charts.Render(pic, charts.SVG, charts.Style{}) })
		}
		wait.Wait()
		for _, g := range got {
			require.True(t, bytes.Equal(want, g), "%s differs from run to run", name)
		}
	}
}
