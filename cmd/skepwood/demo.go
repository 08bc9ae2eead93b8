package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"text/tabwriter"

	"skepwood/analytics/yield"
	"skepwood/db"
	"skepwood/db/demo"
)

type demoCmd struct {
	Once      bool   `help:"Print the summary and stop, without serving pages."`
	Keep      string `help:"Keep the demonstration book in this folder instead of a fresh one that is removed at the end." placeholder:"DIR" type:"path"`
	PGBin     string `name:"pg-bin" help:"Folder with PostgreSQL's programs, where they are not found by themselves." env:"SKEPWOOD_PG_BIN" placeholder:"DIR"`
	Listen    string `help:"Address to answer on." default:"127.0.0.1:8080" placeholder:"HOST:PORT"`
	LogLevel  string `help:"How much to log." env:"SKEPWOOD_LOG_LEVEL" default:"warn"`
	LogFormat string `help:"How to log: text or json." env:"SKEPWOOD_LOG_FORMAT" default:"text"`
}

// Run shows a believable year of an invented club in a fresh book.
func (c demoCmd) Run(ctx context.Context, std *streams) (failed error) {
	flags := bookFlags{DataDir: c.Keep, PGBin: c.PGBin, LogLevel: c.LogLevel, LogFormat: c.LogFormat}
	faults := flags.faults()
	if err := loopbackOnly(c.Listen); err != nil {
		faults = append(faults, err)
	}
	if err := check(faults); err != nil {
		return err
	}
	if c.Keep == "" {
		folder, err := passableTempDir()
		if err != nil {
			return err
		}
		defer func() { failed = errors.Join(failed, os.RemoveAll(folder)) }()
		flags.DataDir = filepath.Join(folder, "book")
	}
	return flags.with(ctx, std, func(b *openBook) error { return c.show(ctx, std, b, flags) })
}

// passableTempDir makes a temporary folder that other users may pass through
// but not list: as root, PostgreSQL runs as another user inside it.
func passableTempDir() (string, error) {
	folder, err := os.MkdirTemp("", "skepwood-demo-")
	if err != nil {
		return "", err
	}
	if err := os.Chmod(folder, 0o711); err != nil { //nolint:gosec // the folder inside is closed
		return "", errors.Join(err, os.RemoveAll(folder))
	}
	return folder, nil
}

func (c demoCmd) show(ctx context.Context, std *streams, b *openBook, flags bookFlags) error {
	if err := b.EnsureFigures(ctx); err != nil {
		return err
	}
	names, err := b.SourceNames(ctx)
	if err != nil {
		return err
	}
	if len(names) == 0 {
		if err := demo.Write(ctx, b.Store); err != nil {
			return err
		}
	}
	keeper, err := b.Keeper(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(std.Out, "The log of %s, an invented club. Nothing in it is a fact about the world.\n\n", keeper.Name)
	if err := printRanking(ctx, std.Out, b.Store, keeper); err != nil {
		return err
	}
	if err := printKeepAway(ctx, std.Out, b.Store); err != nil {
		return err
	}
	if c.Once {
		return nil
	}
	fmt.Fprintln(std.Out)
	return serveBook(ctx, std, b, serveOptions{listen: c.Listen, flags: flags, demo: true})
}

// printRanking prints the sources, the best drive first, each figure with its
// interval.
func printRanking(ctx context.Context, out io.Writer, store *db.Store, keeper db.Keeper) error {
	r, err := store.Ranking(ctx, keeper.Currency)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Sources by net value of a pickup, %s, with 90 %% intervals of the mean:\n", r.Currency)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  source\tpickups\tempty\tnet a pickup\tnet a mile\tnet an hour")
	for _, s := range r.Sources {
		if s.Plain == nil {
			fmt.Fprintf(w, "  %s\t0\t\tno trip with known wood yet\t\t\n", s.Name)
			continue
		}
		fmt.Fprintf(w, "  %s\t%d\t%d\t%s\t%s\t%s\n", s.Name, s.N, s.Empty, figure(s.PerPickup, r.Currency), figure(s.PerMile, r.Currency), figure(s.PerHour, r.Currency))
	}
	return w.Flush()
}

func figure(f yield.Figure, currency string) string {
	value := yield.FormatMinor(math.Round(f.Value), currency)
	switch {
	case f.N == 0:
		return "-"
	case !f.Known:
		return value + " (too few to say how sure)"
	default:
		return fmt.Sprintf("%s (%s to %s)", value, yield.FormatMinor(math.Round(f.Low), currency), yield.FormatMinor(math.Round(f.High), currency))
	}
}

// printKeepAway prints the lots that must stay away from hives, with the
// reason.
func printKeepAway(ctx context.Context, out io.Writer, store *db.Store) error {
	fmt.Fprintln(out, "\nStock that must stay away from the hives:")
	after := ""
	for {
		lots, err := store.Lots(ctx, db.LotFilter{Verdicts: []string{"hold", "never"}, Stopped: true, After: after, Limit: 200})
		if err != nil {
			return err
		}
		for _, l := range lots {
			word, why := l.Verdict, ""
			if len(l.Reasons) > 0 {
				why = l.Reasons[0].Text
			}
			if l.OwnershipStop {
				word, why = "not ours to take", "it shows an owner; leave it, or return it"
			}
			fmt.Fprintf(out, "  %s  %s, %d x %s from %s: %s\n", l.Code, word, l.Count, l.Kind, l.Source, why)
			after = l.Code
		}
		if len(lots) < 200 {
			return printBoardsApart(ctx, out, store)
		}
	}
}

// printBoardsApart prints single boards that are worse than their lot.
func printBoardsApart(ctx context.Context, out io.Writer, store *db.Store) error {
	boards, err := store.BoardsWorseThanLot(ctx, 200)
	if err != nil {
		return err
	}
	for _, b := range boards {
		why := ""
		if len(b.Reasons) > 0 {
			why = b.Reasons[0].Text
		}
		fmt.Fprintf(out, "  %s  %s, one board among others of lot %s from %s: %s\n", b.Code, b.Verdict, b.Lot, b.Source, why)
	}
	return nil
}
