// Command skepwood is a logbook for wood that is given away: where it came
// from, what was found on it, how dry it is, what was cut from it and which
// hive holds it now.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // zone names also on systems without their own table

	"github.com/alecthomas/kong"
)

// streams is what a command reads and writes; tests pass buffers.
type streams struct {
	In  io.Reader
	Out io.Writer
	Err io.Writer
}

// commands is every command of the program, one line each; the struct tags
// are the help text.
type commands struct {
	Demo      demoCmd      `cmd:"" help:"Show a believable year of an invented club in a fresh book."`
	Serve     serveCmd     `cmd:"" help:"Open the book and answer on this machine."`
	Migrate   migrateCmd   `cmd:"" help:"Bring the database to this program's schema."`
	Import    importCmd    `cmd:"" help:"Read spreadsheets (CSV) into the book, all or nothing."`
	Export    exportCmd    `cmd:"" help:"Write the whole book as spreadsheets that import reads back."`
	Recompute recomputeCmd `cmd:"" help:"Rebuild everything that follows from entries."`
	Screen    screenCmd    `cmd:"" help:"Judge findings by the rules, without a database."`
	Mark      markCmd      `cmd:"" help:"Read a mark, tag or stamp and say what it means."`
	EMC       emcCmd       `cmd:"" help:"Tell how dry wood becomes in some air."`
	Density   densityCmd   `cmd:"" help:"Tell what wood weighs, or what a weighed board is."`
	Resize    resizeCmd    `cmd:"" help:"Tell what a board measures at another moisture."`
	Boardfeet boardfeetCmd `cmd:"" help:"Count board feet."`
	Ovendry   ovendryCmd   `cmd:"" help:"Tell moisture content from masses."`
	Dry       dryCmd       `cmd:"" help:"Tell when a stack will be ready, from its readings."`
	Probe     probeCmd     `cmd:"" help:"Tell how many boards of a stack to probe."`
	Cut       cutCmd       `cmd:"" help:"Plan how boards with defects are cut, without a database."`
	Worth     worthCmd     `cmd:"" help:"Tell what each source is worth, from a sheet of trips, without a database."`
	Round     roundCmd     `cmd:"" help:"Plan a day's round of stops, without a database."`
	Version   versionCmd   `cmd:"" help:"Print the versions of the program, its rules, its mark tables and its database schema."`
}

// exitCode is an error that only sets the exit status: the command has
// already said what it had to say.
type exitCode int

func (e exitCode) Error() string { return fmt.Sprintf("exit status %d", int(e)) }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], &streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr})
	stop()
	os.Exit(code)
}

// run parses args, runs the chosen command and returns the exit status:
// 0 done, 1 failed or faults found, 2 wrong usage.
func run(ctx context.Context, args []string, std *streams) int {
	var root commands
	exited := -1
	parser, err := kong.New(&root,
		kong.Name("skepwood"),
		kong.Description("A logbook for wood that is given away and built into beehives."),
		kong.Writers(std.Out, std.Err),
		kong.Exit(func(code int) { exited = code }),
		kong.Resolvers(secretFiles()),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(std),
	)
	if err != nil {
		fmt.Fprintf(std.Err, "skepwood: %v\n", err)
		return 2
	}
	parsed, err := parser.Parse(args)
	if exited >= 0 {
		return exited
	}
	if err != nil {
		fmt.Fprintf(std.Err, "skepwood: %v\nTry: skepwood --help\n", err)
		return 2
	}
	return report(std, parsed.Run())
}

// report prints err for a person and turns it into an exit status.
func report(std *streams, err error) int {
	var code exitCode
	switch {
	case err == nil:
		return 0
	case errors.As(err, &code):
		return int(code)
	default:
		fmt.Fprintf(std.Err, "skepwood: %v\n", err)
		return 1
	}
}
