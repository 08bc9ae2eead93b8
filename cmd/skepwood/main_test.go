package main

import (
	"context"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets the scripts under testdata/script call the real program.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"skepwood": func() {
			os.Exit(run(context.Background(), os.Args[1:], &streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}))
		},
	})
}

// TestScripts runs the executable specifications of the command line.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script"})
}
