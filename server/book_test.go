package server_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestBookIsFilteredAndPaged(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	var kinds []string
	for _, o := range allIn(b.open("/book").byID("kind"), "option", "") {
		kinds = append(kinds, attr(o, "value"))
	}
	require.Subset(t, kinds, []string{"", "change", "pickup", "lot", "finding", "board", "defect", "reading", "source", "setting"})
	for _, kind := range kinds {
		p := b.open("/book?kind=" + kind)
		require.Equal(t, kind, valueOf(p, "kind"))
		if kind != "" && kind != "change" {
			for _, line := range p.all("li", "") {
				if a := allIn(line, "a", ""); len(a) > 0 && strings.HasPrefix(attr(a[0], "href"), "/book/") {
					require.Equal(t, kind, text(a[0]))
				}
			}
		}
	}
	require.Contains(t, b.open("/book?kind=change").mainText(), "odometer read again at home")

	// Every pickup comes once, however the pages are cut.
	seen, next := map[string]bool{}, "/book?kind=pickup"
	for next != "" {
		p := b.open(next)
		for _, a := range p.all("a", "") {
			if href := attr(a, "href"); strings.HasPrefix(href, "/book/pickup/") {
				require.False(t, seen[href], "twice: %s", href)
				seen[href] = true
			}
		}
		next = linkSaying(p, "Earlier entries")
	}
	require.Len(t, seen, b.count(db.Pickups))
}

func TestStockIsFilteredAndPaged(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	first := b.open("/stock")
	var total int
	_, err := fmt.Sscanf(text(first.all("p", "lead")[0]), "%d boards", &total)
	require.NoError(t, err)
	seen, next := map[string]bool{}, "/stock"
	for next != "" {
		p := b.open(next)
		for _, row := range p.all("tr", "") {
			for _, a := range allIn(row, "a", "") {
				if href := attr(a, "href"); strings.HasPrefix(href, "/boards/") {
					require.False(t, seen[href], "twice: %s", href)
					seen[href] = true
				}
			}
		}
		next = linkSaying(p, "Next boards")
	}
	require.Len(t, seen, total)

	sum := 0
	for _, verdict := range []string{"inside", "outside", "hold", "never"} {
		p := b.open("/stock?verdict=" + verdict)
		require.Equal(t, verdict, valueOf(p, "verdict"))
		var n int
		if _, err := fmt.Sscanf(text(p.all("p", "lead")[0]), "%d board", &n); err == nil {
			sum += n
		}
	}
	require.Equal(t, total, sum, "every board has one verdict")
	wet := b.open("/stock?" + url.Values{"place": {"winter stack"}, "dry": {"19"}}.Encode())
	require.Equal(t, "winter stack", valueOf(wet, "place"))
	require.Equal(t, "19", valueOf(wet, "dry"))
	all := b.open("/stock?" + url.Values{"place": {"winter stack"}}.Encode())
	require.Less(t, len(wet.all("tr", "")), len(all.all("tr", "")))
}

// TestOddAddressesAreHarmless asks for pages with arguments nobody's link has.
func TestOddAddressesAreHarmless(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	odd := []string{"9223372036854775807", "-9223372036854775808", "-1", "0", "1e9", "yes", "%3Cscript%3E", strings.Repeat("9", 4000)}
	for _, value := range odd {
		for _, path := range []string{"/book?before=" + value, "/book?before=1&id=" + value, "/book?kind=" + value, "/stock?after=" + value, "/stock?place=" + value,
			"/sources?done=" + value, "/pickups/new?source=" + value, "/charts/yield.svg?theme=" + value, "/marks?text=" + value} {
			require.Equal(t, http.StatusOK, b.get(path).status, path)
		}
	}
	for _, path := range []string{"/book", "/stock", "/sources", "/pickups/new", "/lots/" + w.lot.ID.String()} {
		for _, query := range []string{"source=%00", "place=%00&after=%00", "place=%ff%fe", "source=a%c3%28", "x=%zz"} {
			p := b.get(path + "?" + query)
			require.Equal(t, http.StatusBadRequest, p.status, "%s?%s", path, query)
			require.Contains(t, p.mainText(), "damaged")
		}
	}
}

// linkSaying returns the address of the first link with the text, or "".
func linkSaying(p *page, says string) string {
	for _, a := range p.all("a", "") {
		if text(a) == says {
			return attr(a, "href")
		}
	}
	return ""
}

// TestLinksLeadSomewhere follows every link of a full book once, one of each
// kind of page.
func TestLinksLeadSomewhere(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	b.stored("/settings/units", with(b.form(b.open("/settings"), "/settings/units"), "zone", "America/Chicago"))
	followed, queue := map[string]bool{}, []string{"/sources", "/book?kind=change", "/nowhere"}
	for len(queue) > 0 {
		path := queue[0]
		queue = queue[1:]
		p := b.get(path)
		if path != "/nowhere" {
			require.Equal(t, http.StatusOK, p.status, path)
		}
		for _, href := range p.addresses() {
			address, fragment, _ := strings.Cut(href, "#")
			if address == "" {
				require.NotNil(t, p.byID(fragment), "%s on %s", href, path)
				continue
			}
			if shape := shapeOf(address); !followed[shape] {
				followed[shape] = true
				queue = append(queue, address)
			}
		}
	}
	for _, shape := range []string{"/lots/-", "/boards/-", "/pickups/-", "/sources/-", "/book/reading/-/correct", "/book/finding/-", "/export.zip", "/charts/value.svg"} {
		require.True(t, followed[shape], "nothing leads to %s", shape)
	}
}

// addresses are where the page's links, pictures and files are, within the
// book.
func (p *page) addresses() (out []string) {
	for tag, name := range map[string]string{"a": "href", "link": "href", "img": "src", "script": "src", "source": "srcset"} {
		for _, n := range p.all(tag, "") {
			out = append(out, attr(n, name))
		}
	}
	return out
}

// shapeOf is an address without the ids and arguments in it.
func shapeOf(address string) string {
	path, _, _ := strings.Cut(address, "?")
	parts := strings.Split(path, "/")
	for i, part := range parts {
		if len(part) == 36 && strings.Count(part, "-") == 4 {
			parts[i] = "-"
		}
	}
	return strings.Join(parts, "/")
}
