package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// BinVariable is the environment variable that names the browser's program,
// where it is not found by itself.
const BinVariable = "SKEPWOOD_TEST_CHROMIUM"

// errMissing says that no browser is installed.
var errMissing = errors.New("no Chromium was found: install the package chromium, or name its program in " + BinVariable)

// programs are the names Chromium goes by.
var programs = []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "headless_shell"}

// patience bounds what one step of a test waits for; a machine that does
// other work at the same time needs much of it.
const patience = 60 * time.Second

// browser is the one of this test binary.
type browser struct {
	ctx  context.Context
	stop context.CancelFunc
	dir  string
	err  error
}

var (
	once   sync.Once
	shared browser
)

// Stop ends the browser, if a test started one; TestMain calls it last.
func Stop() {
	once.Do(func() { shared.err = errors.New("the tests are over") })
	if shared.stop != nil {
		shared.stop()
	}
	if shared.dir != "" {
		_ = os.RemoveAll(shared.dir)
	}
}

// need returns the browser, started on first use.
func need(t testing.TB) *browser {
	t.Helper()
	once.Do(func() { shared.err = shared.start() })
	switch {
	case errors.Is(shared.err, errMissing) && os.Getenv("CI") != "true":
		t.Skipf("this test needs a browser: %v", shared.err)
	case shared.err != nil:
		t.Fatalf("this test needs a browser: %v", shared.err)
	}
	return &shared
}

func findProgram() (string, error) {
	if named := os.Getenv(BinVariable); named != "" {
		return exec.LookPath(named)
	}
	for _, name := range programs {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", errMissing
}

// start runs the browser without a window and without a network of its own.
func (b *browser) start() error {
	program, err := findProgram()
	if err != nil {
		return err
	}
	if b.dir, err = os.MkdirTemp("", "skepwood-browser-"); err != nil {
		return err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(program),
		chromedp.UserDataDir(b.dir),
		chromedp.WSURLReadTimeout(patience),
		chromedp.DisableGPU,
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-domain-reliability", true),
		chromedp.Flag("no-pings", true),
		chromedp.Flag("lang", "en"),
	)
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	allocator, stopAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stopBrowser := chromedp.NewContext(allocator)
	b.ctx = ctx
	b.stop = func() { stopBrowser(); stopAllocator() }
	// The context of the first call bounds the browser's life: no timeout here.
	if err := chromedp.Do(ctx); err != nil {
		return fmt.Errorf("start %s: %w", program, err)
	}
	return nil
}
