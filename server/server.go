package server

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"skepwood/db"
)

// Options says how to serve the book; Store is required.
type Options struct {
	Store *db.Store
	// Log receives requests and failures; nil discards them.
	Log *slog.Logger
	// Version is shown at the foot of each page.
	Version string
	// Demo says so on every page, with the words of its doc comment.
	Demo bool
	// TrustedOrigins are other origins whose forms are accepted, such as the
	// public address of a proxy.
	TrustedOrigins []string
}

// app is what the handlers share.
type app struct {
	store   *db.Store
	log     *slog.Logger
	pages   *pages
	static  *static
	version string
	demo    bool
	started time.Time
}

// New returns the handler that serves the whole book.
func New(ctx context.Context, opts Options) (http.Handler, error) {
	if opts.Log == nil {
		opts.Log = slog.New(slog.DiscardHandler)
	}
	assets, err := loadStatic()
	if err != nil {
		return nil, err
	}
	tmpl, err := loadPages(assets)
	if err != nil {
		return nil, err
	}
	if _, err := opts.Store.Keeper(ctx); err != nil {
		return nil, err
	}
	if err := opts.Store.EnsureFigures(ctx); err != nil {
		return nil, err
	}
	a := &app{store: opts.Store, log: opts.Log, pages: tmpl, static: assets, version: opts.Version, demo: opts.Demo, started: time.Now()}
	cross := http.NewCrossOriginProtection()
	for _, origin := range opts.TrustedOrigins {
		if err := CheckOrigin(origin); err != nil {
			return nil, err
		}
		_ = cross.AddTrustedOrigin(origin) // checked just above
	}
	cross.SetDenyHandler(a.handle(func(http.ResponseWriter, *http.Request) error {
		return &statusError{http.StatusForbidden, "This form came from another site. Open the page here and send it again."}
	}))
	r := chi.NewRouter()
	r.Use(numberRequests, a.logRequests, a.recoverPanics, secureHeaders, a.refuseOtherNames(opts.TrustedOrigins), a.limitBodies, a.refuseOddAddresses, cross.Handler, middleware.GetHead)
	a.routes(r)
	return r, nil
}

// Serve answers on the listener's address until ctx ends, then lets running
// requests finish for at most five seconds.
func Serve(ctx context.Context, srv *http.Server, serve func() error) error {
	failed := make(chan error, 1)
	go func() { failed <- serve() }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
		grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
		defer cancel()
		if err := srv.Shutdown(grace); err != nil {
			return fmt.Errorf("stop serving: %w", err)
		}
		return nil
	}
}

// HTTPServer returns a server for handler with the limits that keep a slow or
// hostile client from holding it.
func HTTPServer(handler http.Handler) *http.Server {
	return &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       10 * time.Minute, // a large sheet over a slow line
		WriteTimeout:      10 * time.Minute,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
	}
}
