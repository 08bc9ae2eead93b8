package main

import (
	"context"
	"fmt"

	"skepwood/db"
)

type migrateCmd struct {
	bookFlags `embed:""`
}

// Run brings the database to this program's schema.
func (c migrateCmd) Run(ctx context.Context, std *streams) error {
	return c.with(ctx, std, func(*openBook) error {
		_, err := fmt.Fprintf(std.Out, "The book's schema is at version %d.\n", db.LatestVersion())
		return err
	})
}
