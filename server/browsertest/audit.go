package browsertest

import (
	"fmt"
	"os"
	"strings"
)

// Axe checks pages with axe-core.
type Axe struct{ script string }

// LoadAxe reads the library from a file.
func LoadAxe(path string) (*Axe, error) {
	script, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read axe-core: %w", err)
	}
	return &Axe{string(script)}, nil
}

// violation is one rule that a page breaks, and where.
type violation struct {
	ID, Help string
	Nodes    []struct{ HTML, Summary string }
}

// rules are those of WCAG 2.2, levels A and AA, and what is good practice.
const rules = `{type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice"]}`

// colourRules are those whose outcome the colour scheme can change.
const colourRules = `{type: "rule", values: ["color-contrast", "link-in-text-block"]}`

// Violations lists what is wrong with the page as it stands, in light and in
// dark, one line each; an accessible page has none.
func (a *Axe) Violations(tab *Tab) []string {
	tab.t.Helper()
	tab.Run(a.script)
	out := a.run(tab, "light", rules)
	tab.Scheme("dark")
	out = append(out, a.run(tab, "dark", colourRules)...)
	tab.Scheme("light")
	return out
}

func (a *Axe) run(tab *Tab, scheme, rules string) (out []string) {
	tab.t.Helper()
	found := Eval[[]violation](tab, `axe.run(document, {runOnly: `+rules+`, resultTypes: ["violations"], selectors: false, iframes: false, preload: false}).then(r => r.violations.map(v => (
		{ID: v.id, Help: v.help, Nodes: v.nodes.map(n => ({HTML: n.html, Summary: n.failureSummary}))})))`)
	for _, v := range found {
		for _, n := range v.Nodes {
			out = append(out, fmt.Sprintf("%s: %s (%s): %s: %s", scheme, v.ID, v.Help, n.HTML, strings.Join(strings.Fields(n.Summary), " ")))
		}
	}
	return out
}

// UnfoldAll opens every folded part of the page.
func (tab *Tab) UnfoldAll() {
	tab.t.Helper()
	tab.Run(`document.querySelectorAll("details").forEach(d => { d.open = true; })`)
}

// kept is how many rows of a table, lines of a list, forms of a folded part
// and choices of one finding Shorten leaves.
const kept = 3

// Shorten takes the later rows, lines and forms out of long pages: one
// template wrote them all, and axe-core looks at each of them anew.
func (tab *Tab) Shorten() {
	tab.t.Helper()
	tab.Run(fmt.Sprintf(`document.querySelectorAll("main tbody > tr:nth-child(n+%[1]d), main li:nth-child(n+%[1]d), main details > form:nth-of-type(n+%[1]d), main details > .field:nth-of-type(n+%[1]d), main .tap .actions > button:nth-of-type(n+%[1]d)")
		.forEach(e => { if (!e.querySelector(".error")) e.remove(); })`, kept+1))
}

// Sideways returns what sticks out of the screen to the right, if the page
// would scroll sideways.
func (tab *Tab) Sideways(width int) []string {
	tab.t.Helper()
	return Eval[[]string](tab, fmt.Sprintf(`document.scrollingElement.scrollWidth <= %[1]d ? [] :
		[...document.body.querySelectorAll("*")].filter(e => e.getBoundingClientRect().right > %[1]d + 0.5).map(e => e.outerHTML.slice(0, 200)).slice(0, 5)`, width))
}

// SmallTargets returns the buttons, fields and other things to tap that are
// less than 44 pixels high. A tick counts with its label, since that is
// tapped; a link inside a sentence is as high as its line.
func (tab *Tab) SmallTargets() []string {
	tab.t.Helper()
	return Eval[[]string](tab, `[...document.querySelectorAll("button, input, select, textarea, summary, a.button, nav a")]
		.filter(e => e.checkVisibility() && e.type !== "hidden" && !e.closest("[aria-hidden=true]"))
		.map(e => e.type === "checkbox" || e.type === "radio" ? e.closest("label") || e : e)
		.filter(e => e.getBoundingClientRect().height < 43.9)
		.map(e => Math.round(e.getBoundingClientRect().height) + " px: " + e.outerHTML.slice(0, 200))`)
}
