package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// The screen of a common phone, in CSS pixels.
const (
	Width  = 390
	Height = 844
)

// Options say how a tab differs from a phone's; the zero value is one.
type Options struct {
	// NoScripts keeps the pages' scripts from running.
	NoScripts bool
}

// Tab is one page of the browser, as a person sees it.
type Tab struct {
	t   testing.TB
	ctx context.Context
	// base is put before addresses that begin with a slash.
	base string
}

// New opens a tab for pages of the server at base.
func New(t testing.TB, base string, o Options) *Tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(need(t).ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	tab := &Tab{t: t, ctx: ctx, base: base}
	if err := chromedp.Do(ctx); err != nil { // opens the tab; see NewContext on timeouts
		t.Fatalf("open a tab: %v", err)
	}
	tab.Resize(Width, Height)
	tab.Scheme("light")
	if o.NoScripts {
		tab.do("switch scripts off", command(emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}))
	}
	return tab
}

// On returns the same tab for a subtest.
func (tab *Tab) On(t testing.TB) *Tab {
	c := *tab
	c.t = t
	return &c
}

// command makes an action of a command of the protocol.
func command[P, R any](cmd cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, cmd, params)
		return err
	})
}

// do runs steps and fails the test, saying what was wanted and where it
// happened.
func (tab *Tab) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	tab.t.Helper()
	ctx, cancel := context.WithTimeout(tab.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		tab.t.Fatalf("%s: %v%s", what, err, tab.where())
	}
}

// where describes the page for a failure.
func (tab *Tab) where() string {
	ctx, cancel := context.WithTimeout(tab.ctx, patience)
	defer cancel()
	seen, err := chromedp.Run(ctx, chromedp.Evaluate[string](`location.href + "\n" + document.body.innerText.slice(0, 600)`))
	if err != nil {
		return ""
	}
	return "\non the page " + seen
}

// Resize makes a touch screen of that size, upright.
func (tab *Tab) Resize(width, height int64) {
	tab.t.Helper()
	tab.do("set the screen", chromedp.EmulateViewport(width, height, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulatePortrait))
}

// Scheme chooses between light and dark. The page stands still besides: what
// glides while it is tapped is missed.
func (tab *Tab) Scheme(scheme string) {
	tab.t.Helper()
	tab.do("choose "+scheme, command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}},
	}))
}

// Go opens the page at the path.
func (tab *Tab) Go(path string) {
	tab.t.Helper()
	tab.do("open "+path, chromedp.Navigate(tab.base+path))
}

// Path returns the address of the page without the server's part.
func (tab *Tab) Path() string {
	tab.t.Helper()
	return strings.TrimPrefix(Eval[string](tab, "location.href"), tab.base)
}

// Eval returns what a script's expression gives on the page.
func Eval[T any](tab *Tab, script string) T {
	tab.t.Helper()
	ctx, cancel := context.WithTimeout(tab.ctx, patience)
	defer cancel()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, awaiting))
	if err != nil {
		tab.t.Fatalf("evaluate %.60s: %v", script, err)
	}
	return out
}

// awaiting waits for a promise.
func awaiting(p *runtime.EvaluateParams) { chromedp.EvalAwaitPromise(p) }

// Run runs a long script, such as a library, for what it defines.
func (tab *Tab) Run(script string) {
	tab.t.Helper()
	tab.do("run a script", chromedp.Evaluate[chromedp.Void](script))
}

// css turns the id of an element into a selector; ids of forms hold no
// characters that need more than quotes.
func css(id string) chromedp.CSS { return chromedp.CSS(fmt.Sprintf("[id=%q]", id)) }

// See waits until the element is there and visible, and returns its text.
func (tab *Tab) See(selector string) string {
	tab.t.Helper()
	ctx, cancel := context.WithTimeout(tab.ctx, patience)
	defer cancel()
	text, err := chromedp.Run(ctx, chromedp.Text(chromedp.CSS(selector)))
	if err != nil {
		tab.t.Fatalf("look for %s: %v%s", selector, err, tab.where())
	}
	return strings.TrimSpace(text)
}

// Texts returns the visible text of every element that matches now.
func (tab *Tab) Texts(selector string) []string {
	tab.t.Helper()
	return Eval[[]string](tab, fmt.Sprintf("[...document.querySelectorAll(%s)].map(e => e.innerText.trim())", quoted(selector)))
}

// Type empties the field with the id and types into it key by key.
func (tab *Tab) Type(id, text string) {
	tab.t.Helper()
	tab.do("type into "+id, chromedp.Clear(css(id)), chromedp.SendKeys(css(id), text))
}

// Press presses keys in the field with the id.
func (tab *Tab) Press(id, keys string) {
	tab.t.Helper()
	tab.leave("press a key in "+id, chromedp.SendKeys(css(id), keys))
}

// PressOn presses a key on the element that a selector finds and waits for the
// page that this leads to.
func (tab *Tab) PressOn(selector, key string) {
	tab.t.Helper()
	tab.leave("press on "+selector, chromedp.SendKeys(chromedp.CSS(selector), key))
}

// Choose takes the option with the value.
func (tab *Tab) Choose(id, value string) {
	tab.t.Helper()
	tab.do("choose in "+id, chromedp.WaitVisible(css(id)), chromedp.SetValue(css(id), value))
}

// Upload puts files into the field with the id.
func (tab *Tab) Upload(id string, files ...string) {
	tab.t.Helper()
	tab.do("choose files", chromedp.SetUploadFiles(css(id), files))
}

// Unfold opens the folded part with the heading.
func (tab *Tab) Unfold(heading string) {
	tab.t.Helper()
	tab.do("unfold "+heading, chromedp.Tap(tab.mark("summary", heading)))
}

// Tap taps the button or link with the text, and waits for the page it leads
// to.
func (tab *Tab) Tap(text string) {
	tab.t.Helper()
	tab.leave("tap "+text, chromedp.Tap(tab.mark("button, a", text)))
}

// leave runs a step that leads to another page and waits until that is there.
func (tab *Tab) leave(what string, step chromedp.Action[chromedp.Void]) {
	tab.t.Helper()
	ctx, cancel := context.WithTimeout(tab.ctx, patience)
	defer cancel()
	if _, err := chromedp.RunResponse(ctx, step); err != nil {
		tab.t.Fatalf("%s: %v%s", what, err, tab.where())
	}
}

// mark finds the first element of a kind that says text and can be seen, in
// the page itself before its frame, and returns a selector for it alone.
func (tab *Tab) mark(selector, text string) chromedp.CSS {
	tab.t.Helper()
	found := Eval[bool](tab, fmt.Sprintf(`(async () => {
		if (document.readyState === "loading") await new Promise((ready) => document.addEventListener("DOMContentLoaded", ready));
		for (const old of document.querySelectorAll("[data-tapped]")) delete old.dataset.tapped;
		const found = [...document.querySelectorAll(%s)].filter(e => e.innerText.trim() === %s && e.checkVisibility() && !e.closest("[aria-hidden=true]"));
		const first = found.find(e => e.closest("main")) || found[0];
		if (first) first.dataset.tapped = "";
		return first !== undefined;
	})()`, quoted(selector), quoted(text)))
	if !found {
		tab.t.Fatalf("nothing to tap says %q%s", text, tab.where())
	}
	return "[data-tapped]"
}

// quoted writes text as a script's string.
func quoted(text string) string {
	out, err := json.Marshal(text)
	if err != nil {
		return `""` // strings always marshal
	}
	return string(out)
}
