package main

import (
	"context"
	"errors"
	"fmt"
	"net"

	"skepwood/server"
)

type serveCmd struct {
	bookFlags      `embed:""`
	Listen         string   `help:"Address to answer on; only this machine's own until accounts exist." env:"SKEPWOOD_LISTEN" default:"127.0.0.1:8080" placeholder:"HOST:PORT"`
	TrustedOrigins []string `name:"trusted-origin" help:"Another origin whose forms are accepted, such as https://wood.example." env:"SKEPWOOD_TRUSTED_ORIGINS" placeholder:"ORIGIN"`
}

// Run serves the book until it is interrupted.
func (c serveCmd) Run(ctx context.Context, std *streams) error {
	faults := c.faults()
	if err := loopbackOnly(c.Listen); err != nil {
		faults = append(faults, err)
	}
	for _, origin := range c.TrustedOrigins {
		if err := server.CheckOrigin(origin); err != nil {
			faults = append(faults, fmt.Errorf("SKEPWOOD_TRUSTED_ORIGINS: %w", err))
		}
	}
	if err := check(faults); err != nil {
		return err
	}
	return c.with(ctx, std, func(b *openBook) error {
		return serveBook(ctx, std, b, serveOptions{listen: c.Listen, flags: c.bookFlags, origins: c.TrustedOrigins})
	})
}

// serveOptions says how to serve an open book.
type serveOptions struct {
	listen  string
	flags   bookFlags
	origins []string
	demo    bool
}

// serveBook answers requests until ctx ends or the cluster is gone.
func serveBook(ctx context.Context, std *streams, b *openBook, opts serveOptions) error {
	handler, err := server.New(ctx, server.Options{Store: b.Store, Log: opts.flags.logger(std), Version: version, Demo: opts.demo, TrustedOrigins: opts.origins})
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", opts.listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; choose another address with --listen", opts.listen, err)
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	go func() {
		select {
		case <-b.gone():
			cancel(errClusterGone)
		case <-ctx.Done():
		}
	}()
	fmt.Fprintf(std.Out, "Skepwood answers at http://%s/ until you press Ctrl-C.\n", listener.Addr())
	srv := server.HTTPServer(handler)
	if err := server.Serve(ctx, srv, func() error { return srv.Serve(listener) }); err != nil {
		return err
	}
	if errors.Is(context.Cause(ctx), errClusterGone) {
		return errClusterGone
	}
	fmt.Fprintln(std.Out, "Stopped.")
	return nil
}

var errClusterGone = errors.New("the private PostgreSQL ended by itself; start again: it recovers what was committed")
