package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"skepwood/db"
)

// TestEveryAnswerCarriesTheGuards looks at pages, files, pictures, refusals
// and failures alike.
func TestEveryAnswerCarriesTheGuards(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	answers := map[string]*page{
		"page":        b.get("/sources"),
		"redirect":    b.get("/"),
		"refusal":     b.post("/sources", url.Values{"name": {""}}),
		"stored":      b.post("/sources", url.Values{"name": {"Second Yard"}}),
		"not found":   b.get("/nowhere"),
		"no method":   b.send(b.request(http.MethodDelete, "/book", nil)),
		"picture":     b.get("/charts/yield.svg"),
		"bad picture": b.get("/charts/yield.svg?width=x"),
		"style":       b.get("/static/style.css"),
		"no file":     b.get("/static/none.css"),
		"archive":     b.get("/export.zip"),
		"live":        b.get("/livez"),
		"ready":       b.get("/readyz"),
		"import":      b.importFiles(false, upload{"x.csv", "what\n1\n"}),
		"bad address": b.get("/stock?place=%00"),
		"foreign":     b.foreign("/sources", "https://elsewhere.example"),
		"conflict":    b.post("/book/source/"+w.source.ID.String()+"/strike", url.Values{"version": {"7"}, "why": {"x"}}),
	}
	b.store.Close()
	answers["failure"] = b.get("/sources")
	answers["not ready"] = b.get("/readyz")
	require.Equal(t, http.StatusInternalServerError, answers["failure"].status)
	for name, p := range answers {
		csp := p.header.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"} {
			require.Contains(t, csp, part, name)
		}
		require.NotContains(t, csp, "unsafe", name)
		require.Equal(t, "same-origin", p.header.Get("Referrer-Policy"), name)
		require.Equal(t, "nosniff", p.header.Get("X-Content-Type-Options"), name)
		require.Equal(t, "same-origin", p.header.Get("Cross-Origin-Opener-Policy"), name)
		require.NotEmpty(t, p.header.Get("Permissions-Policy"), name)
		if p.body != "" {
			require.NotEmpty(t, p.header.Get("Content-Type"), name)
		}
		if p.doc != nil && p.header.Get("Location") == "" {
			require.Equal(t, "no-store", p.header.Get("Cache-Control"), name)
			require.Empty(t, p.all("style", ""), "%s has inline style", name)
		}
	}
}

// foreign posts a form as a page of another site would.
func (b *bench) foreign(path, origin string) *page {
	b.Helper()
	r := b.request(http.MethodPost, path, strings.NewReader(url.Values{"name": {"Forged Yard"}, "id": {uuid.NewString()}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", origin)
	return b.send(r)
}

// ids chooses the entry that a route is about.
func (w wood) ids(route string) db.Entry {
	for prefix, e := range map[string]db.Entry{"/lots/": w.lot, "/boards/": w.board, "/pickups/": w.pickup, "/stacks/": w.stack} {
		if strings.HasPrefix(route, prefix) {
			return e
		}
	}
	return w.source
}

func TestFormsOfOtherSitesAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Origins: []string{"https://wood.example"}})
	w := b.withEverything()
	before := b.contents()
	var paths []string
	require.NoError(t, chi.Walk(b.server.Config.Handler.(chi.Routes), func(method, route string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if method == http.MethodPost {
			paths = append(paths, strings.NewReplacer("{kind}", "source", "{id}", w.ids(route).ID.String()).Replace(route))
		}
		return nil
	}))
	require.Greater(t, len(paths), 15)
	for _, path := range paths {
		for _, origin := range []string{"https://elsewhere.example", "null", "http://127.0.0.1:1", "https://wood.example.elsewhere.example"} {
			p := b.foreign(path, origin)
			require.Equal(t, http.StatusForbidden, p.status, "%s from %s", path, origin)
			require.Contains(t, p.mainText(), "another site")
		}
		for _, site := range []string{"cross-site", "same-site"} {
			r := b.request(http.MethodPost, path, strings.NewReader("name=Forged"))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("Sec-Fetch-Site", site)
			require.Equal(t, http.StatusForbidden, b.send(r).status, "%s, %s", path, site)
		}
	}
	require.Equal(t, before, b.contents())
	require.Equal(t, http.StatusSeeOther, b.foreign("/sources", "https://wood.example").status, "a trusted origin")
	require.Equal(t, http.StatusSeeOther, b.post("/sources", url.Values{"name": {"Second Yard"}}).status, "the book's own page")
	r := b.request(http.MethodGet, "/sources", nil)
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	require.Equal(t, http.StatusOK, b.send(r).status, "a link from elsewhere")
}

// TestPanicShowsAPageWithoutInternals makes the clock panic once.
func TestPanicShowsAPageWithoutInternals(t *testing.T) {
	t.Parallel()
	var clock oncePanicking
	var log syncBuffer
	b := setup(t, options{Now: clock.now, Log: &log})
	clock.armed.Store(true)
	r := b.request(http.MethodGet, "/stock", nil)
	r.Header.Set("X-Request-Id", "chosen by the client")
	p := b.send(r)
	b.isOurFailure(p, log.String(), "secret of the clock")
	require.Contains(t, log.String(), "goroutine", "the log has the stack")
	require.NotContains(t, log.String(), "chosen by the client")
	require.Equal(t, http.StatusOK, b.get("/stock").status, "the book stays open")
}

// isOurFailure checks the page of a failure: it apologises, says what to do
// and gives a number that the log has too, but nothing of the failure itself.
func (b *bench) isOurFailure(p *page, log string, secrets ...string) {
	b.Helper()
	require.Equal(b, http.StatusInternalServerError, p.status)
	require.Contains(b, p.mainText(), "Something went wrong on our side")
	notes := p.all("p", "small")
	require.NotEmpty(b, notes)
	id := strings.TrimPrefix(text(notes[0]), "Request ")
	require.NoError(b, uuid.Validate(id), "the page names the request")
	require.Contains(b, log, id)
	for _, secret := range append(secrets, "goroutine", ".go:", "SQLSTATE", "pgx", "skepwood/") {
		require.NotContains(b, p.body, secret)
	}
	for _, secret := range secrets {
		require.Contains(b, log, secret)
	}
}

func TestLostDatabaseIsSaid(t *testing.T) {
	t.Parallel()
	var log syncBuffer
	b := setup(t, options{Log: &log})
	w := b.withWood()
	require.Equal(t, "ok\n", b.open("/livez").body)
	require.Equal(t, "ok\n", b.open("/readyz").body)
	b.store.Close()
	require.Equal(t, "ok\n", b.open("/livez").body, "the process still answers")
	ready := b.get("/readyz")
	require.Equal(t, http.StatusServiceUnavailable, ready.status)
	require.Equal(t, "the database is not ready\n", ready.body)
	for _, path := range []string{"/sources", "/stock", "/book", "/settings", "/lots/" + w.lot.ID.String(), "/charts/yield.svg"} {
		b.isOurFailure(b.get(path), log.String(), "closed pool")
	}
	b.isOurFailure(b.post("/sources", url.Values{"name": {"Second Yard"}}), log.String(), "closed pool")
}

func TestNewerDatabaseIsNotReady(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	require.Equal(t, http.StatusOK, b.get("/readyz").status)
	b.asOwner("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999999, true)")
	require.Equal(t, http.StatusServiceUnavailable, b.get("/readyz").status)
	require.Equal(t, http.StatusOK, b.get("/livez").status)
}

// asOwner runs a statement with the rights that the application gave up.
func (b *bench) asOwner(sql string) {
	b.Helper()
	conn, err := b.store.Pool().Acquire(b.Context())
	require.NoError(b, err)
	defer conn.Release()
	_, err = conn.Exec(b.Context(), "RESET ROLE")
	require.NoError(b, err)
	_, err = conn.Exec(b.Context(), sql)
	require.NoError(b, err)
	_, err = conn.Exec(b.Context(), "SET ROLE skepwood_app")
	require.NoError(b, err)
}

// nasty is text that would run if it were not escaped, in a page, in an
// attribute, in a script or in an address.
const nasty = `"'><script src=x></script><img src=x onerror=alert(1)> </textarea></title>{{.}} javascript:alert(1) ${7*7}`

// TestMarkupIsShownAsText types markup into every text field and looks at
// every page that shows it.
func TestMarkupIsShownAsText(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.stored("/settings/units", with(b.form(b.open("/settings"), "/settings/units"), "name", nasty))
	src := url.Values{"name": {nasty}}
	for _, name := range []string{"kind", "cargo", "contact", "phone", "permission", "hours", "place", "notes"} {
		src.Set(name, nasty)
	}
	src.Set("kind", nasty[:90])
	src.Set("phone", nasty[:90])
	sourcePage := b.stored("/sources", src)
	form := b.form(b.open("/pickups/new?"+url.Values{"source": {nasty}}.Encode()), "/pickups")
	require.Equal(t, nasty, form.Get("source"))
	pickupPage := b.stored("/pickups", with(form, "notes", nasty, "lot-0-kind", "crate", "lot-0-place", nasty, "lot-0-finding-mark", nasty, "lot-0-finding-tag", nasty,
		"lot-0-finding-other", nasty, "lot-0-finding-shipper", "known_foreign", "lot-0-finding-shipper-note", nasty, "action", "log"))
	lot := b.first(db.Lots)
	b.stored("/lots/"+lot.ID.String()+"/findings", url.Values{"kind": {"mark"}, "value": {nasty}, "note": {nasty}})
	b.stored("/lots/"+lot.ID.String()+"/boards", url.Values{"thickness": {"1"}, "width": {"5"}, "length": {"40"}, "boards": {"1"}, "place": {nasty}})
	board := b.first(db.Boards).path()
	b.stored(board+"/defects", url.Values{"defect-kind": {"knot"}, "defect-dx": {"1"}, "defect-dy": {"1"}, "defect-note": {nasty}})
	b.stored(board+"/readings", url.Values{"reading-raw": {"12"}, "reading-setting": {nasty[:90]}, "reading-place": {nasty[:90]}, "reading-note": {nasty}})
	b.stored("/settings/figures", url.Values{"figure-name": {db.HourValue}, "figure-valid_from": {"2026-01-05"}, "figure-amount": {"1"}, "figure-note": {nasty}})
	for _, e := range b.everyEntry() {
		address := "/book/" + e.Kind + "/" + e.ID.String()
		values := b.form(b.open(address+"/correct"), address+"/correct")
		for name, typed := range map[string]string{"notes": nasty + " again", "note": nasty + " again", "label": nasty[:90]} {
			if _, has := values[name]; has {
				values.Set(name, typed)
			}
		}
		b.stored(address+"/correct", with(values, "why", nasty))
	}
	for _, path := range append(b.everyPath(), sourcePage.path, pickupPage.path, lot.path(), board) {
		p := b.open(path)
		b.harmless(p)
		if strings.HasPrefix(path, "/book/") && !strings.HasPrefix(path, "/book/setting") {
			require.Contains(t, p.body, "&lt;script", "%s shows what was typed", path)
		}
	}
	for _, p := range []*page{
		b.post("/sources", with(src, "latitude", nasty)),
		b.get("/stock?" + url.Values{"min_width": {nasty}, "place": {nasty}, "verdict": {nasty}}.Encode()),
		b.importFiles(true, upload{nasty + ".csv", "name,latitude," + strings.ReplaceAll(nasty, `"`, "") + "\n" + strings.ReplaceAll(nasty, `"`, "") + ",<b>north</b>,x\n"}),
		b.get("/nowhere/" + url.PathEscape(nasty)),
		b.get("/marks?" + url.Values{"text": {nasty}}.Encode()),
		b.post("/lots/"+lot.ID.String()+"/findings", url.Values{"tap": {nasty + "=" + nasty}}),
		b.post("/book/lot/"+lot.ID.String()+"/correct", url.Values{"version": {"1"}, "why": {nasty}, "kind": {nasty}, "pickup": {nasty}}),
	} {
		b.harmless(p)
	}
}

// harmless checks that a page has no element or attribute that text could
// have brought in.
func (b *bench) harmless(p *page) {
	b.Helper()
	require.NotNil(b, p.doc, p.path)
	walk(p.doc, func(n *html.Node) bool {
		for _, a := range n.Attr {
			require.False(b, strings.HasPrefix(a.Key, "on"), "%s has %s=%q", p.path, a.Key, a.Val)
			if a.Key == "href" || a.Key == "src" || a.Key == "action" {
				require.True(b, strings.HasPrefix(a.Val, "/") || strings.HasPrefix(a.Val, "#"), "%s has %s=%q", p.path, a.Key, a.Val)
			}
		}
		if n.Data == "script" {
			require.True(b, strings.HasPrefix(attr(n, "src"), "/static/"), "%s runs %q", p.path, attr(n, "src"))
			require.Empty(b, text(n))
		}
		return true
	})
}
