package main

import (
	"context"
	"fmt"
)

type recomputeCmd struct {
	bookFlags `embed:""`
}

// Run rebuilds everything that follows from entries.
func (c recomputeCmd) Run(ctx context.Context, std *streams) error {
	return c.with(ctx, std, func(b *openBook) error {
		bar := newBar(std, "lots")
		lots, err := b.Recompute(ctx, bar.at)
		bar.done()
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(std.Out, "Rebuilt what follows from the entries of %d lots.\n", lots)
		return err
	})
}
