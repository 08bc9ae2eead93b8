//go:build unix

package cluster

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// write adds a row that must outlive what follows.
func write(t *testing.T, url string) {
	t.Helper()
	tell(t, url, "INSERT INTO kept VALUES ('later')")
}

// requireWritten starts the cluster again and looks for the row.
func requireWritten(t *testing.T, cfg Config) {
	t.Helper()
	c := start(t, cfg)
	require.Equal(t, "kept,later", ask(t, c.URL("postgres"), "SELECT string_agg(word, ',' ORDER BY word) FROM kept"))
	require.NoError(t, c.Stop(context.Background()))
	requireNoProcess(t, cfg.Dir)
}

func TestKilled(t *testing.T) {
	t.Parallel()
	for name, kill := range map[string]func(t *testing.T, p *program){
		"program": func(t *testing.T, p *program) {
			require.NoError(t, p.cmd.Process.Kill())
			_ = p.cmd.Wait() // but not for the server, which is still on its way down
		},
		"server": func(t *testing.T, p *program) {
			require.NoError(t, syscall.Kill(p.Server, syscall.SIGKILL))
			require.Contains(t, p.read(t).Error, "PostgreSQL ended by itself (signal: killed)")
			require.Equal(t, 3, p.exit(t))
		},
		"program and server": func(t *testing.T, p *program) {
			require.NoError(t, syscall.Kill(p.Server, syscall.SIGSTOP)) // so that the death of the program cannot stop it first
			require.NoError(t, p.cmd.Process.Kill())
			require.NoError(t, syscall.Kill(p.Server, syscall.SIGKILL))
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			cfg := book(t)
			p := running(t, cfg)
			write(t, p.URL)
			kill(t, p)
			requireWritten(t, cfg)
		})
	}
}

// The program is in the middle of its work, and stops with a context that is
// done, since its end was the signal.
func TestSignals(t *testing.T) {
	t.Parallel()
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		t.Run(signal.String(), func(t *testing.T) {
			t.Parallel()
			cfg := book(t)
			p := running(t, cfg)
			idle, err := pgx.Connect(t.Context(), p.URL)
			require.NoError(t, err)
			_, err = idle.Exec(t.Context(), "BEGIN; INSERT INTO kept VALUES ('half')")
			require.NoError(t, err)
			busy, err := pgx.Connect(t.Context(), p.URL)
			require.NoError(t, err)
			go func() { _, _ = busy.Exec(context.Background(), "SELECT pg_sleep(1000)") }()

			began := time.Now()
			require.NoError(t, p.cmd.Process.Signal(signal))
			require.Equal(t, 0, p.exit(t))
			require.Less(t, time.Since(began), 5*time.Second)
			require.Empty(t, processesOf(t, cfg.Dir))
			log, err := os.ReadFile(filepath.Join(cfg.Dir, logName))
			require.NoError(t, err)
			require.NotContains(t, string(log), "immediate shutdown")
			require.True(t, strings.HasSuffix(strings.TrimSpace(string(log)), "database system is shut down"), "after a checkpoint")
		})
	}
}

func TestStoppedByOperator(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	c := start(t, cfg)
	require.NoError(t, syscall.Kill(c.PID(), syscall.SIGINT))
	<-c.Done()
	require.ErrorContains(t, c.Err(), "ended by itself (someone else stopped it)")
	require.ErrorContains(t, c.Err(), "received fast shutdown request")
	require.NoError(t, c.Stop(t.Context()))
	require.Error(t, c.Err(), "Stop does not explain it away")
}

func TestStopIsBounded(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	c := start(t, cfg)
	write(t, c.URL("postgres"))
	require.NoError(t, syscall.Kill(c.PID(), syscall.SIGSTOP), "a server that does not listen")
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	require.ErrorIs(t, c.Stop(ctx), errForced)
	require.NoError(t, c.Err(), "it was asked for")
	requireWritten(t, cfg)
	require.Less(t, fastPatience+immediatePatience, 5*time.Second)
}

// A start that is cancelled while the server recovers leaves no process.
func TestCancelStart(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() {
		for pause(ctx, time.Millisecond) {
			if _, err := os.Stat(filepath.Join(cfg.Dir, pidFileName)); err == nil {
				cancel()
			}
		}
	}()
	c, err := Start(ctx, cfg)
	if err == nil { // the start was quicker
		require.NoError(t, c.Stop(context.Background()))
	} else {
		require.ErrorIs(t, err, context.Canceled)
	}
	requireNoProcess(t, cfg.Dir)
}
