package server_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// TestBuildHasMoreLines asks for more kits and parts than the form has lines
// at first: what was typed is kept, nothing is planned by it, and the lines
// that follow are planned and faulted as the first are.
func TestBuildHasMoreLines(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	lines := func(p *page) (n int) {
		for p.byID(fmt.Sprintf("want-%d", n)) != nil {
			n++
		}
		return n
	}
	first := b.open("/build")
	require.Equal(t, 5, lines(first))
	form := with(b.form(first, "/build"), "want-0", "slatted rack 10-frame ▸ slat", "count-0", "2", "notes", "for the spring")
	p := b.post("/build", with(form, "more", "yes"))
	require.Equal(t, http.StatusOK, p.status)
	require.Zero(t, b.count(db.Plans), "nothing is planned yet")
	require.Equal(t, 10, lines(p))
	kept := b.form(p, "/build")
	for _, name := range []string{"id", "want-0", "count-0", "notes", "rip_kerf"} {
		require.Equal(t, form.Get(name), kept.Get(name), name)
	}
	form = with(kept, "want-6", "slatted rack 10-frame ▸ shelf", "count-6", "many")
	p = b.post("/build", form)
	require.Contains(t, b.refused(p, "count-6"), "is not a whole number")
	require.Contains(t, p.mainText(), "How many in line 7 is not a whole number")
	require.Equal(t, 10, lines(p))
	says := b.stored("/build", with(form, "count-6", "1")).mainText()
	require.Contains(t, says, "slatted rack 10-frame: slat")
	require.Contains(t, says, "slatted rack 10-frame: shelf")

	for range 5 {
		form = with(b.form(p, "/build"), "more", "yes")
		p = b.post("/build", form)
	}
	require.Equal(t, 20, lines(p))
	require.False(t, strings.Contains(p.mainText(), "More lines"), "there are no more")
	form.Set("want-99", "slatted rack 10-frame")
	require.Equal(t, 20, lines(b.post("/build", form)))
}
