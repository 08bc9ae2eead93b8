package browsertest

import (
	"bytes"
	"context"
	"regexp"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// Paper is a sheet's size in inches.
type Paper struct{ Width, Height float64 }

// The two papers that shops have.
var (
	Letter = Paper{8.5, 11}
	A4     = Paper{8.27, 11.69}
)

// pageObject is one page in a PDF file; the word Pages names their list.
var pageObject = regexp.MustCompile(`/Type\s*/Page\b`)

// PrintedPages prints the page on the paper, with the browser's own margins, and
// returns how many sheets it takes.
func (tab *Tab) PrintedPages(paper Paper) int {
	tab.t.Helper()
	var pdf []byte
	tab.do("print the page", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		out, err := cdp.Call(ctx, target, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: paper.Width, PaperHeight: paper.Height})
		if err == nil {
			pdf = out.Data
		}
		return err
	}))
	if !bytes.HasPrefix(pdf, []byte("%PDF")) {
		tab.t.Fatalf("print the page: no PDF came back%s", tab.where())
	}
	return len(pageObject.FindAll(pdf, -1))
}
