package server

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"strings"
	"time"

	"skepwood/db"
)

//go:embed templates/*.html
var templateFiles embed.FS

// base is what every page has.
type base struct {
	Title   string
	Path    string
	Version string
	Demo    bool
	Env     db.Env
	Keeper  db.Keeper
	Nav     []navItem
	// Done is a sentence about what was just stored.
	Done string
}

// navItem is one room of the house.
type navItem struct {
	Path, Name string
	Here       bool
	// Less keeps a room behind "More" where the screen is narrow.
	Less bool
}

// rooms are the pages of the top line, sorted by what a person is about to do.
var rooms = []navItem{
	{Path: "/pickups/new", Name: "Log a pickup"},
	{Path: "/sources", Name: "Sources"},
	{Path: "/drive", Name: "Drive", Less: true},
	{Path: "/stock", Name: "Stock"},
	{Path: "/drying", Name: "Drying"},
	{Path: "/build", Name: "Build"},
	{Path: "/holds", Name: "Holds"},
	{Path: "/marks", Name: "Marks", Less: true},
	{Path: "/rules", Name: "Rules", Less: true},
	{Path: "/desk", Name: "Desk", Less: true},
	{Path: "/book", Name: "Book"},
	{Path: "/import", Name: "Import", Less: true},
	{Path: "/settings", Name: "Settings", Less: true},
}

// base fills in what every page shows. A book whose keeper cannot be read is
// shown in default units: the page's own query will report the failure.
func (a *app) base(r *http.Request, title string) base {
	keeper, err := a.store.Keeper(r.Context())
	if err != nil {
		a.log.ErrorContext(r.Context(), "keeper_unreadable", "error", err)
	}
	b := base{Title: title, Path: r.URL.Path, Version: a.version, Demo: a.demo, Keeper: keeper, Env: keeper.Env(a.store.Now()), Done: doneWords[r.URL.Query().Get("done")]}
	for _, item := range rooms {
		item.Here = strings.HasPrefix(r.URL.Path, item.Path)
		b.Nav = append(b.Nav, item)
	}
	return b
}

// doneWords are the sentences a page may be asked to show after a form was
// stored; the address carries only their key.
var doneWords = map[string]string{
	"undone":    "Taken back. What was written stays readable in the Book.",
	"cut":       "Cut. The board is no longer on the rack; its pieces are below.",
	"nominal":   "Added. Nominal sizes were taken as what such boards measure (PS 20-20); each board's notes say so.",
	"logged":    "Logged.",
	"added":     "Added to the book.",
	"corrected": "Corrected. The old value stays in the history.",
	"same":      "Nothing was different, so nothing was changed.",
	"struck":    "Struck through. It stays readable in the Book.",
	"restored":  "Restored.",
	"saved":     "Saved.",
	"moved":     "Moved. From that day it dries in the air of its new place.",
	"out":       "Taken out. What was read while it lay there still counts for the stack.",
	"down":      "Taken down. How fast it dried teaches the other stacks.",
	"guessed":   "Put down on the board.",
	"planned":   "Planned. The boards it uses are kept for it until they are cut or set aside.",
	"replanned": "Planned again: what is cut stays cut.",
	"sawn":      "Written down: the wood moved from the board to its blanks and offcuts. The offcuts’ codes stand under “What came of it”.",
	"got":       "Written down: what was got of the board is among blanks and boards, and the rest of it is gone.",
	"rejected":  "Written down: the board stays on the rack, uncut, and this plan does without it.",
	"unsawn":    "Taken back: the board is on the rack again.",
	"aside":     "Set aside: the boards are free for other plans.",
	"revoked":   "Revoked. The address no longer works.",
}

// pages holds the parsed templates, one set for each page.
type pages struct {
	sets map[string]*template.Template
}

// loadPages parses each page with the layout and the partials (files whose
// name begins with an underscore).
func loadPages(assets *static) (*pages, error) {
	files, err := fs.Glob(templateFiles, "templates/*.html")
	if err != nil {
		return nil, err
	}
	p := &pages{sets: make(map[string]*template.Template)}
	for _, file := range files {
		name := strings.TrimSuffix(strings.TrimPrefix(file, "templates/"), ".html")
		if strings.HasPrefix(name, "_") {
			continue
		}
		set, err := template.New("_layout.html").Funcs(templateFuncs(assets)).Funcs(worthFuncs()).Funcs(moistureFuncs()).ParseFS(templateFiles, "templates/_*.html", file)
		if err != nil {
			return nil, fmt.Errorf("read the template %s: %w", name, err)
		}
		p.sets[name] = set
	}
	return p, nil
}

// render writes a page, but only once it is whole.
func (a *app) render(w http.ResponseWriter, status int, name string, page any) error {
	set, ok := a.pages.sets[name]
	if !ok {
		return fmt.Errorf("no template %q", name)
	}
	var out bytes.Buffer
	if err := set.ExecuteTemplate(&out, "layout", page); err != nil {
		return fmt.Errorf("render %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, err := out.WriteTo(w)
	return err
}

// show renders a page with status 200.
func (a *app) show(w http.ResponseWriter, name string, page any) error {
	return a.render(w, http.StatusOK, name, page)
}

// dayText prints a calendar day for people.
func dayText(t time.Time) string { return t.Format("2 Jan 2006") }
