package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"skepwood/db"
	"skepwood/db/cluster"
)

// databaseName is the book's database in the private cluster.
const databaseName = "skepwood"

// openBook is the book with the cluster it runs on, if it is a private one.
type openBook struct {
	*db.Store
	cluster *cluster.Cluster
}

// open starts the private cluster (or uses the given server), brings the
// schema up to date and opens the store.
func (f bookFlags) open(ctx context.Context, log *slog.Logger) (*openBook, error) {
	if err := check(f.faults()); err != nil {
		return nil, err
	}
	b := &openBook{}
	address := f.DatabaseURL
	if address == "" {
		var err error
		if address, err = b.startCluster(ctx, f, log); err != nil {
			return nil, err
		}
	}
	if err := db.Migrate(ctx, address); err != nil {
		return nil, errors.Join(err, b.Close())
	}
	store, err := db.Open(ctx, address, db.Options{Log: log})
	if err != nil {
		return nil, errors.Join(err, b.Close())
	}
	b.Store = store
	return b, nil
}

func (b *openBook) startCluster(ctx context.Context, f bookFlags, log *slog.Logger) (string, error) {
	dir := f.DataDir
	if dir == "" {
		var err error
		if dir, err = cluster.DefaultDir(); err != nil {
			return "", err
		}
	}
	c, err := cluster.Start(ctx, cluster.Config{Dir: dir, BinDir: f.PGBin, Log: log})
	if err != nil {
		return "", err
	}
	b.cluster = c
	if err := c.EnsureDatabase(ctx, databaseName); err != nil {
		return "", errors.Join(err, b.Close())
	}
	return c.URL(databaseName), nil
}

// Close closes the store and stops the private cluster.
func (b *openBook) Close() error {
	if b.Store != nil {
		b.Store.Close()
	}
	if b.cluster == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := b.cluster.Stop(ctx); err != nil {
		return fmt.Errorf("stop the private cluster: %w", err)
	}
	return nil
}

// gone is closed when the private cluster ended by itself; nil, which never
// fires, for an outside server.
func (b *openBook) gone() <-chan struct{} {
	if b.cluster == nil {
		return nil
	}
	return b.cluster.Done()
}

// with opens the book, runs do and closes the book whatever happened.
func (f bookFlags) with(ctx context.Context, std *streams, do func(*openBook) error) error {
	b, err := f.open(ctx, f.logger(std))
	if err != nil {
		return err
	}
	return errors.Join(do(b), b.Close())
}
