package server_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/charts"
	"skepwood/db"
)

var pictures = []string{"/charts/yield", "/charts/fate", "/charts/value", "/charts/next", "/charts/pit"}

func TestPicturesComeInBothFormats(t *testing.T) {
	t.Parallel()
	for name, b := range map[string]*bench{"empty": setup(t, options{}), "demo": setup(t, options{Demo: true})} {
		for _, path := range pictures {
			svg := b.open(path + ".svg?width=358")
			require.Equal(t, "image/svg+xml", strings.Split(svg.header.Get("Content-Type"), ";")[0])
			requireXML(t, svg.body)
			dark := b.open(path + ".svg?width=358&theme=dark")
			require.NotEqual(t, svg.body, dark.body, "%s %s", name, path)
			require.NotEqual(t, svg.body, b.open(path+".svg?width=928").body)
			raster := b.open(path + ".png?width=358&theme=dark")
			require.Equal(t, "image/png", raster.header.Get("Content-Type"))
			drawn, err := png.Decode(strings.NewReader(raster.body))
			require.NoError(t, err)
			require.GreaterOrEqual(t, drawn.Bounds().Dx(), 358)
		}
	}
}

// requireXML checks that a picture is well formed and runs nothing.
func requireXML(t *testing.T, body string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(body))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		require.NoError(t, err)
		if start, ok := token.(xml.StartElement); ok {
			require.NotContains(t, []string{"script", "foreignObject", "image", "a"}, start.Name.Local)
			for _, a := range start.Attr {
				require.False(t, strings.HasPrefix(strings.ToLower(a.Name.Local), "on"), a.Name.Local)
			}
		}
	}
}

func TestUnchangedPicturesAreNotSentAgain(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	for _, path := range pictures {
		for _, address := range []string{path + ".svg", path + ".png", path + ".svg?theme=dark&width=358"} {
			first := b.open(address)
			tag := first.header.Get("ETag")
			require.NotEmpty(t, tag, address)
			require.Equal(t, "no-cache", first.header.Get("Cache-Control"))
			require.Equal(t, tag, b.open(address).header.Get("ETag"), "the same picture has the same tag")
			r := b.request(http.MethodGet, address, nil)
			r.Header.Set("If-None-Match", tag)
			p := b.send(r)
			require.Equal(t, http.StatusNotModified, p.status, address)
			require.Empty(t, p.body)
			require.Equal(t, tag, p.header.Get("ETag"))
			r.Header.Set("If-None-Match", `"other"`)
			require.Equal(t, http.StatusOK, b.send(r).status, address)
		}
	}
	// A new trip changes the picture.
	old := b.open("/charts/value.svg").header.Get("ETag")
	b.withWood()
	require.NotEqual(t, old, b.open("/charts/value.svg").header.Get("ETag"))
}

func TestWrongPicturesAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, path := range pictures {
		for _, width := range []string{"0", "-1", "wide", "1e3", "99999999", "100000000000000000000", "358px", " "} {
			p := b.get(path + ".svg?width=" + strings.ReplaceAll(width, " ", "%20"))
			require.Equal(t, http.StatusBadRequest, p.status, "%s width %q", path, width)
			require.Contains(t, p.mainText(), "width of a picture is a number")
		}
		require.Equal(t, http.StatusNotFound, b.get(path+".gif").status)
		require.Equal(t, http.StatusNotFound, b.get(path).status)
		require.Equal(t, http.StatusOK, b.get(path+".svg?theme=pink").status, "an unknown theme is the light one")
	}
	require.Less(t, charts.MinWidth, 358)
	require.Greater(t, charts.MaxWidth, 928)
}

// TestPicturesEscapeNames draws sources whose names are markup.
func TestPicturesEscapeNames(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.add(db.Sources, map[string]string{"name": nasty})
	b.add(db.Pickups, map[string]string{"source": nasty, "day": "2026-03-01", "distance": "5", "minutes": "30"})
	b.add(db.Lots, map[string]string{"pickup": "2026-03-01 " + nasty, "kind": "crate", "volume": "14"})
	for _, path := range pictures {
		requireXML(t, b.open(path+".svg").body)
		_, err := png.Decode(bytes.NewReader([]byte(b.open(path + ".png").body)))
		require.NoError(t, err)
	}
}

func TestFilesAreKeptByTheirHash(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, address := range b.open("/sources").addresses() {
		if !strings.HasPrefix(address, "/static/") {
			continue
		}
		p := b.open(address)
		require.Contains(t, address, "?v=")
		require.Contains(t, p.header.Get("Cache-Control"), "immutable", address)
		r := b.request(http.MethodGet, address, nil)
		r.Header.Set("If-None-Match", p.header.Get("ETag"))
		require.Equal(t, http.StatusNotModified, b.send(r).status, address)
		for _, plain := range []string{strings.Split(address, "?")[0], strings.Split(address, "?")[0] + "?v=0123"} {
			require.NotContains(t, b.open(plain).header.Get("Cache-Control"), "immutable", "an old address is not kept for ever")
		}
		kind := map[string]string{"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}[strings.TrimPrefix(strings.Split(address, "?")[0][strings.LastIndex(address, "."):], ".")]
		require.Equal(t, kind, strings.Split(p.header.Get("Content-Type"), ";")[0], address)
	}
}
