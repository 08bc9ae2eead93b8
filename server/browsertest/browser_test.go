package browsertest_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/server/browsertest"
)

func TestMain(m *testing.M) {
	code := m.Run()
	browsertest.Stop()
	os.Exit(code)
}

// serve shows one page at every address.
func serve(t *testing.T, body string) string {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Content-Security-Policy", "default-src 'self'; style-src 'unsafe-inline'")
		fmt.Fprintf(w, `<!doctype html><html lang="en"><head><title>A page</title><meta name="viewport" content="width=device-width, initial-scale=1"></head>
			<body style="margin:0;background:#fff"><main><h1>A page</h1>%s</main></body></html>`, body)
	}))
	t.Cleanup(s.Close)
	return s.URL
}

// TestFaultsOfAPageAreFound shows that each check can fail.
func TestFaultsOfAPageAreFound(t *testing.T) {
	t.Parallel()
	axe, err := browsertest.LoadAxe("../testdata/axe/axe.min.js")
	require.NoError(t, err)
	for name, try := range map[string]struct {
		body                   string
		axe, sideways, targets string
	}{
		"nothing wrong":       {`<label for="a">A</label><input id="a" style="height:44px"><a href="/">A link in a sentence</a>`, "", "", ""},
		"no label":            {`<input id="a" style="height:44px">`, "label", "", ""},
		"pale text":           {`<p style="color:#bbb">pale</p>`, "light: color-contrast", "", ""},
		"pale in the dark":    {`<style>@media (prefers-color-scheme: dark) { p { color: #ddd } }</style><p style="">dark</p>`, "dark: color-contrast", "", ""},
		"two of one id":       {`<label for="a">A</label><input id="a" style="height:44px" aria-describedby="b"><p id="b"></p><ul><p>x</p></ul>`, "list", "", ""},
		"too wide":            {`<div style="width:500px">wide</div>`, "", "500px", ""},
		"a small button":      {`<button style="height:30px">A</button>`, "", "", "30 px"},
		"a small tick":        {`<label style="display:block;height:30px"><input type="checkbox"> A</label>`, "", "", "30 px"},
		"a tick with a label": {`<label style="display:block;height:44px"><input type="checkbox" style="width:24px;height:24px"> A</label>`, "", "", ""},
		"folded away":         {`<details><summary style="min-height:44px">A</summary><button style="height:30px">B</button></details>`, "", "", "30 px"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			tab := browsertest.New(t, serve(t, try.body), browsertest.Options{})
			tab.Go("/")
			tab.UnfoldAll()
			requireFault(t, try.axe, axe.Violations(tab))
			requireFault(t, try.sideways, tab.Sideways(browsertest.Width))
			requireFault(t, try.targets, tab.SmallTargets())
		})
	}
}

func requireFault(t *testing.T, want string, found []string) {
	t.Helper()
	if want == "" {
		require.Empty(t, found)
		return
	}
	require.NotEmpty(t, found)
	require.Contains(t, found[0], want)
}

// TestScriptsAreSwitchedOff shows that pages of such a tab run none.
func TestScriptsAreSwitchedOff(t *testing.T) {
	t.Parallel()
	for off, want := range map[bool]string{true: "A page", false: "changed"} {
		s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			fmt.Fprint(w, `<h1>A page</h1><script>document.querySelector("h1").textContent = "changed"</script>`)
		}))
		t.Cleanup(s.Close)
		tab := browsertest.New(t, s.URL, browsertest.Options{NoScripts: off})
		tab.Go("/")
		require.Equal(t, want, tab.See("h1"))
	}
}
