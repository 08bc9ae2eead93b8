package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sort"
	"strings"

	"skepwood/db"
)

type importCmd struct {
	bookFlags `embed:""`
	Check     bool     `help:"Report every fault and store nothing."`
	Paths     []string `arg:"" name:"path" help:"CSV files, or folders of them." type:"path"`
}

// Run reads sheets into the book: all of them or nothing.
func (c importCmd) Run(ctx context.Context, std *streams) error {
	sheets, err := findSheets(c.Paths)
	if err != nil {
		return err
	}
	return c.with(ctx, std, func(b *openBook) error {
		keeper, err := b.Keeper(ctx)
		if err != nil {
			return err
		}
		bars := make(map[string]*bar)
		report, err := b.Import(ctx, sheets, db.ImportOptions{Check: c.Check, Keeper: keeper, Progress: func(file string, read, size int64) {
			if bars[file] == nil {
				bars[file] = newBar(std, filepath.Base(file))
			}
			bars[file].at(int(read), int(size))
		}})
		for _, b := range bars {
			b.done()
		}
		if err != nil {
			return err
		}
		return printImport(std.Out, report, c.Check)
	})
}

// findSheets lists the CSV files that the paths name.
func findSheets(paths []string) ([]db.Sheet, error) {
	var files []string
	for _, p := range paths {
		info, err := os.Stat(p)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil, fmt.Errorf("there is no file or folder %s", p)
		case err != nil:
			return nil, err
		case !info.IsDir():
			files = append(files, p)
			continue
		}
		entries, err := os.ReadDir(p)
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			if !e.IsDir() && strings.EqualFold(filepath.Ext(e.Name()), ".csv") {
				files = append(files, filepath.Join(p, e.Name()))
			}
		}
	}
	if len(files) == 0 {
		return nil, errors.New("no CSV file was found; name files that end in .csv, or a folder that holds some")
	}
	sort.Strings(files)
	sheets := make([]db.Sheet, 0, len(files))
	for _, f := range files {
		info, err := os.Stat(f)
		if err != nil {
			return nil, err
		}
		sheets = append(sheets, db.Sheet{Name: f, Size: info.Size(), Open: func() (io.ReadCloser, error) { return os.Open(f) }})
	}
	return sheets, nil
}

// printImport says what became of each file. Faults end with status 1.
func printImport(out io.Writer, r *db.ImportReport, check bool) error {
	for _, s := range r.Sheets {
		twice := ""
		if s.Twice > 0 {
			twice = fmt.Sprintf(", %d the same as an earlier row", s.Twice)
		}
		fmt.Fprintf(out, "%s: %d rows of the kind %s, %d new, %d already in the book%s\n", s.File, s.Rows, s.Kind, s.Added, s.Already, twice)
		if len(s.Ignored) > 0 {
			fmt.Fprintf(out, "  columns nobody knows, left out: %s\n", strings.Join(s.Ignored, ", "))
		}
	}
	for _, f := range r.Faults {
		fmt.Fprintf(out, "%s\n", f)
	}
	if n := r.Differing(); n > 0 && r.FaultCount == 0 {
		fmt.Fprintf(out, "%d cells of rows whose entry the book or an earlier row has already say something else, and change nothing:\n", n)
		for _, d := range r.Differs {
			fmt.Fprintf(out, "  %s\n", d)
		}
	}
	switch {
	case r.FaultCount > len(r.Faults):
		fmt.Fprintf(out, "… and %d more faults.\n", r.FaultCount-len(r.Faults))
		fallthrough
	case r.FaultCount > 0:
		noun := "faults"
		if r.FaultCount == 1 {
			noun = "fault"
		}
		fmt.Fprintf(out, "%d %s: nothing was stored. Correct the files and run the command again.\n", r.FaultCount, noun)
		return exitCode(1)
	case check:
		fmt.Fprintln(out, "No fault was found. Nothing was stored, as asked.")
	default:
		fmt.Fprintln(out, "Everything is in the book.")
	}
	return nil
}
