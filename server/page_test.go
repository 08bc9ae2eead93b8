package server_test

import (
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// page is one answer of the server, parsed.
type page struct {
	status int
	header http.Header
	body   string
	doc    *html.Node
	path   string
}

// send makes a request as a browser on the server's own pages would; it
// follows no redirect.
func (b *bench) send(r *http.Request) *page {
	b.Helper()
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(r)
	require.NoError(b, err)
	defer func() { _ = res.Body.Close() }()
	body, err := io.ReadAll(res.Body)
	require.NoError(b, err)
	p := &page{status: res.StatusCode, header: res.Header, body: string(body), path: r.URL.RequestURI()}
	if strings.HasPrefix(p.header.Get("Content-Type"), "text/html") {
		p.doc, err = html.Parse(strings.NewReader(p.body))
		require.NoError(b, err)
	}
	return p
}

func (b *bench) request(method, path string, body io.Reader) *http.Request {
	b.Helper()
	r, err := http.NewRequestWithContext(b.Context(), method, b.server.URL+path, body)
	require.NoError(b, err)
	return r
}

func (b *bench) get(path string) *page {
	b.Helper()
	return b.send(b.request(http.MethodGet, path, nil))
}

// open gets a page that must be there.
func (b *bench) open(path string) *page {
	b.Helper()
	p := b.get(path)
	require.Equal(b, http.StatusOK, p.status, "GET %s: %s", path, p.mainText())
	return p
}

func (b *bench) post(path string, values url.Values) *page {
	b.Helper()
	r := b.request(http.MethodPost, path, strings.NewReader(values.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", b.server.URL)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.send(r)
}

// stored posts a form that must be accepted and follows it to its page.
func (b *bench) stored(path string, values url.Values) *page {
	b.Helper()
	p := b.post(path, values)
	require.Equal(b, http.StatusSeeOther, p.status, "POST %s: %s", path, p.mainText())
	address, fragment, _ := strings.Cut(p.header.Get("Location"), "#")
	next := b.open(address)
	if fragment != "" {
		require.NotNil(b, next.byID(fragment), "%s leads to #%s, which is not there", path, fragment)
	}
	return next
}

// upload is a file to send to the import page.
type upload struct{ name, text string }

// importFiles sends files as the import page's form does.
func (b *bench) importFiles(check bool, files ...upload) *page {
	b.Helper()
	var body strings.Builder
	w := multipart.NewWriter(&body)
	for _, f := range files {
		part, err := w.CreateFormFile("files", f.name)
		require.NoError(b, err)
		_, err = io.WriteString(part, f.text)
		require.NoError(b, err)
	}
	if check {
		require.NoError(b, w.WriteField("check", "yes"))
	}
	require.NoError(b, w.Close())
	r := b.request(http.MethodPost, "/import", strings.NewReader(body.String()))
	r.Header.Set("Content-Type", w.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.send(r)
}

// walk visits every element below n until visit returns false.
func walk(n *html.Node, visit func(*html.Node) bool) {
	if n == nil {
		return
	}
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && !visit(d) {
			return
		}
	}
}

func (p *page) byID(id string) (found *html.Node) {
	walk(p.doc, func(n *html.Node) bool {
		if attr(n, "id") == id {
			found = n
		}
		return found == nil
	})
	return found
}

// all returns the elements with a tag and, where class is not empty, a class.
func (p *page) all(tag, class string) []*html.Node { return allIn(p.doc, tag, class) }

func allIn(root *html.Node, tag, class string) (out []*html.Node) {
	walk(root, func(n *html.Node) bool {
		if n.Data == tag && (class == "" || slices.Contains(strings.Fields(attr(n, "class")), class)) {
			out = append(out, n)
		}
		return true
	})
	return out
}

// text is what an element says, with single spaces.
func text(n *html.Node) string {
	var b strings.Builder
	if n == nil {
		return ""
	}
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// mainText is what the page says apart from its frame.
func (p *page) mainText() string {
	if p.doc == nil {
		return p.body
	}
	return text(p.byID("main"))
}

func (p *page) title() string {
	for _, h := range p.all("h1", "") {
		return text(h)
	}
	return ""
}

func attr(n *html.Node, name string) string {
	value, _ := lookAttr(n, name)
	return value
}

func lookAttr(n *html.Node, name string) (string, bool) {
	if n == nil {
		return "", false
	}
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val, true
		}
	}
	return "", false
}

// value is what an input, select or textarea would send.
func value(n *html.Node) string {
	switch {
	case n == nil:
		return ""
	case n.Data == "textarea":
		if n.FirstChild == nil {
			return ""
		}
		return n.FirstChild.Data
	case n.Data == "select":
		options := allIn(n, "option", "")
		for _, o := range options {
			if _, selected := lookAttr(o, "selected"); selected {
				return attr(o, "value")
			}
		}
		if len(options) > 0 {
			return attr(options[0], "value")
		}
		return ""
	default:
		return attr(n, "value")
	}
}

// form returns the first form that posts to action, with what it would send
// as it stands, buttons apart.
func (b *bench) form(p *page, action string) url.Values {
	b.Helper()
	for _, f := range p.all("form", "") {
		if attr(f, "method") == "post" && attr(f, "action") == action {
			return fieldsOf(f)
		}
	}
	require.Fail(b, "no such form", "%s has no form that posts to %s", p.path, action)
	return nil
}

func fieldsOf(form *html.Node) url.Values {
	out := url.Values{}
	for _, tag := range []string{"input", "select", "textarea"} {
		for _, n := range allIn(form, tag, "") {
			if name := attr(n, "name"); name != "" && attr(n, "type") != "checkbox" {
				out.Add(name, value(n))
			}
		}
	}
	return out
}

// with returns the values with some replaced.
func with(values url.Values, pairs ...string) url.Values {
	out := url.Values{}
	for k, v := range values {
		out[k] = slices.Clone(v)
	}
	for i := 0; i < len(pairs); i += 2 {
		out.Set(pairs[i], pairs[i+1])
	}
	return out
}

// refused checks that the page blames the field: beside it, in the linked
// summary and to those who cannot see it.
func (b *bench) refused(p *page, field string) string {
	b.Helper()
	require.Equal(b, http.StatusUnprocessableEntity, p.status, p.mainText())
	fault := p.byID(field + "-error")
	require.NotNil(b, fault, "no message beside %s: %s", field, p.mainText())
	require.NotEmpty(b, text(fault))
	input := p.byID(field)
	require.NotNil(b, input, "no field %s", field)
	require.Equal(b, "true", attr(input, "aria-invalid"), "field %s", field)
	require.Contains(b, strings.Fields(attr(input, "aria-describedby")), field+"-error", "the message is not said with the field %s", field)
	for up := fault.Parent; up != nil; up = up.Parent {
		if _, open := lookAttr(up, "open"); up.Data == "details" && !open {
			require.Fail(b, "hidden message", "the message of %s is folded away", field)
		}
	}
	require.Contains(b, p.summary(), "#"+field, "the summary does not lead to %s: %v", field, p.summary())
	return text(fault)
}

// summary returns the links of the list of faults.
func (p *page) summary() []string {
	var out []string
	for _, list := range p.all("div", "faults") {
		for _, a := range allIn(list, "a", "") {
			out = append(out, attr(a, "href"))
		}
	}
	return out
}
