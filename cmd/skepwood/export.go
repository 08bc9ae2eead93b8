package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"skepwood/db"
)

type exportCmd struct {
	bookFlags `embed:""`
	Dir       string `arg:"" help:"Folder to write the sheets to; it is made if it is not there." type:"path"`
	Force     bool   `help:"Write over sheets that are there already."`
}

// Run writes the whole book as sheets that import reads back.
func (c exportCmd) Run(ctx context.Context, std *streams) error {
	if err := os.MkdirAll(c.Dir, 0o750); err != nil {
		return err
	}
	if !c.Force {
		for _, name := range db.ExportFiles() {
			if _, err := os.Stat(filepath.Join(c.Dir, name)); !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("%s is there already; choose an empty folder, or add --force to write over it", filepath.Join(c.Dir, name))
			}
		}
	}
	return c.with(ctx, std, func(b *openBook) error {
		err := b.Export(ctx, func(name string) (io.WriteCloser, error) {
			return os.OpenFile(filepath.Join(c.Dir, name), os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o640)
		})
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(std.Out, "The book is written to %s, %d sheets.\n", c.Dir, len(db.ExportFiles()))
		return err
	})
}
