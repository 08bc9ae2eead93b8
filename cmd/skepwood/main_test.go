package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"skepwood/db/dbtest"
)

// TestMain lets the scripts under testdata/script call the real program.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"skepwood": func() {
			os.Exit(run(context.Background(), os.Args[1:], &streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}))
		},
	})
}

// TestScripts runs the executable specifications of the command line. Scripts
// whose name begins with book_ get an empty database of their own.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			env.Setenv("SKEPWOOD_LOG_LEVEL", "error")
			env.Setenv("TMPDIR", os.TempDir())
			if strings.Contains(filepath.Base(env.WorkDir), "book_") {
				env.Setenv("SKEPWOOD_DATABASE_URL", dbtest.Empty(env.T().(testing.TB)))
			}
			return nil
		},
	})
}

func TestFaultsOfSettingsComeTogether(t *testing.T) {
	t.Parallel()
	flags := bookFlags{DatabaseURL: "mysql://x", DataDir: "/somewhere", PGBin: "/no/such/folder", LogLevel: "loud", LogFormat: "xml"}
	err := check(flags.faults())
	require.Error(t, err)
	for _, want := range []string{"5 faults", "SKEPWOOD_DATABASE_URL is not", "exclude each other", "SKEPWOOD_PG_BIN", "SKEPWOOD_LOG_LEVEL", "SKEPWOOD_LOG_FORMAT"} {
		require.Contains(t, err.Error(), want)
	}
	require.NoError(t, check(bookFlags{LogLevel: "info", LogFormat: "text"}.faults()))
}

func TestOnlyLoopbackIsServed(t *testing.T) {
	t.Parallel()
	for _, ok := range []string{"127.0.0.1:8080", "[::1]:0", "localhost:80", "127.9.9.9:1"} {
		require.NoError(t, loopbackOnly(ok), ok)
	}
	for _, bad := range []string{"0.0.0.0:8080", ":8080", "[::]:80", "192.168.1.2:80", "example.org:80", "8080", ""} {
		err := loopbackOnly(bad)
		require.Error(t, err, bad)
		require.Contains(t, err.Error(), "SKEPWOOD_LISTEN")
	}
	require.ErrorContains(t, loopbackOnly("0.0.0.0:8080"), "no accounts yet")
}

// TestSecretsComeFromFiles is not parallel: it sets the environment.
func TestSecretsComeFromFiles(t *testing.T) {
	file := filepath.Join(t.TempDir(), "level")
	require.NoError(t, os.WriteFile(file, []byte("nonsense\n"), 0o600))
	t.Setenv("SKEPWOOD_LOG_LEVEL_FILE", file)
	t.Setenv("SKEPWOOD_DATABASE_URL", "postgres://nobody@127.0.0.1:1/none")
	var out, errs bytes.Buffer
	require.Equal(t, 1, run(t.Context(), []string{"migrate"}, &streams{Out: &out, Err: &errs}))
	require.Contains(t, errs.String(), `SKEPWOOD_LOG_LEVEL: "nonsense" is none of`)

	t.Setenv("SKEPWOOD_LOG_LEVEL_FILE", filepath.Join(t.TempDir(), "missing"))
	t.Setenv("SKEPWOOD_PG_BIN_FILE", filepath.Join(t.TempDir(), "missing"))
	t.Setenv("SKEPWOOD_DATABASE_URL_FILE", file)
	errs.Reset()
	require.Equal(t, 1, run(t.Context(), []string{"serve", "--trusted-origin", "wood"}, &streams{Out: &out, Err: &errs}))
	for _, want := range []string{"4 faults", "SKEPWOOD_LOG_LEVEL_FILE", "SKEPWOOD_PG_BIN_FILE", "SKEPWOOD_DATABASE_URL and SKEPWOOD_DATABASE_URL_FILE exclude each other", "SKEPWOOD_TRUSTED_ORIGINS"} {
		require.Contains(t, errs.String(), want)
	}
}
