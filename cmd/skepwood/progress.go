package main

import (
	"os"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// bar is a progress bar on a terminal and nothing elsewhere.
type bar struct {
	bar  *progressbar.ProgressBar
	std  *streams
	what string
}

func newBar(std *streams, what string) *bar { return &bar{std: std, what: what} }

// at moves the bar to done of total.
func (b *bar) at(done, total int) {
	if b.bar == nil {
		f, ok := b.std.Err.(*os.File)
		if !ok || !term.IsTerminal(int(f.Fd())) {
			return
		}
		b.bar = progressbar.NewOptions(total, progressbar.OptionSetWriter(b.std.Err), progressbar.OptionSetDescription(b.what),
			progressbar.OptionClearOnFinish(), progressbar.OptionShowCount())
	}
	_ = b.bar.Set(done) // a bar that cannot be drawn hinders nobody
}

func (b *bar) done() {
	if b.bar != nil {
		_ = b.bar.Finish()
	}
}
