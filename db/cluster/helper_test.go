package cluster

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// helperVariable turns the test binary into a program that starts the
// cluster of the Config in it, says so, and stops it on SIGINT or SIGTERM.
const helperVariable = "SKEPWOOD_CLUSTER_HELPER"

func TestMain(m *testing.M) {
	if order := os.Getenv(helperVariable); order != "" {
		os.Exit(helperMain(order))
	}
	code := m.Run()
	if fixtureDir != "" {
		_ = os.RemoveAll(fixtureDir)
	}
	os.Exit(code)
}

// report is what the helper program writes, a line of JSON.
type report struct {
	Server int
	URL    string
	Error  string
}

func helperMain(order string) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	say := func(r report) { _ = json.NewEncoder(os.Stdout).Encode(r) }
	var cfg Config
	if err := json.Unmarshal([]byte(order), &cfg); err != nil {
		say(report{Error: err.Error()})
		return 2
	}
	c, err := Start(ctx, cfg)
	if err != nil {
		say(report{Error: err.Error()})
		return 1
	}
	say(report{Server: c.PID(), URL: c.URL("postgres")})
	select {
	case <-ctx.Done():
		if err := c.Stop(ctx); err != nil {
			say(report{Error: err.Error()})
			return 1
		}
		return 0
	case <-c.Done():
		say(report{Error: c.Err().Error()})
		return 3
	}
}

// program is a helper program.
type program struct {
	report

	cmd   *exec.Cmd
	lines *bufio.Scanner
}

// spawn starts a helper program without waiting for its report.
func spawn(t *testing.T, cfg Config, change ...func(*exec.Cmd)) *program {
	t.Helper()
	cfg.Log = nil
	order, err := json.Marshal(cfg)
	require.NoError(t, err)
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), helperVariable+"="+string(order))
	cmd.Stderr = t.Output()
	for _, c := range change {
		c(cmd)
	}
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGTERM) // a killed server leaves shared memory behind
		defer time.AfterFunc(20*time.Second, func() { _ = cmd.Process.Kill() }).Stop()
		_ = cmd.Wait()
	})
	return &program{cmd: cmd, lines: bufio.NewScanner(out)}
}

// read waits for the next report.
func (p *program) read(t *testing.T) *program {
	t.Helper()
	require.True(t, p.lines.Scan(), "the helper program ended without a word")
	p.report = report{}
	require.NoError(t, json.Unmarshal(p.lines.Bytes(), &p.report))
	return p
}

// running starts a helper program and waits until its server is ready.
func running(t *testing.T, cfg Config, change ...func(*exec.Cmd)) *program {
	t.Helper()
	p := spawn(t, cfg, change...).read(t)
	require.Empty(t, p.Error)
	return p
}

// exit waits for the end of the program and returns its status.
func (p *program) exit(t *testing.T) int {
	t.Helper()
	_ = p.cmd.Wait()
	return p.cmd.ProcessState.ExitCode()
}

// fast leaves out what only matters when the machine itself fails.
var fast = map[string]string{"fsync": "off"}

// found looks for the binaries once.
var found = sync.OnceValues(func() (Binaries, error) {
	return FindBinaries(context.Background(), os.Getenv("SKEPWOOD_PG_BIN"))
})

// need returns the binaries. Without them the test is skipped, or fails in
// CI, where a skipped test would go unnoticed.
func need(t *testing.T) Binaries {
	t.Helper()
	bins, err := found()
	if err != nil && os.Getenv("CI") != "true" {
		t.Skipf("this test needs PostgreSQL: %v", err)
	}
	require.NoError(t, err)
	return bins
}

// place is where the tests keep their clusters: in memory if possible.
func place() string {
	if info, err := os.Stat("/dev/shm"); err == nil && info.IsDir() && runtime.GOOS == "linux" {
		return "/dev/shm"
	}
	return os.TempDir()
}

// openPlace makes a directory that everyone may enter, with a short name
// since the socket's path must be short.
func openPlace(t *testing.T) string {
	t.Helper()
	dir := closedPlace(t)
	require.NoError(t, os.Chmod(dir, 0o755))
	return dir
}

// closedPlace makes a directory that only this user may enter.
func closedPlace(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp(place(), "skc")
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}

var (
	fixtureOnce sync.Once
	fixtureDir  string
	fixtureErr  error
)

// makeFixture makes a cluster with a row in it once, for tests to copy.
func makeFixture() error {
	dir, err := os.MkdirTemp(place(), "skc")
	if err != nil {
		return err
	}
	fixtureDir = dir
	if err := os.Chmod(dir, 0o755); err != nil {
		return err
	}
	ctx := context.Background()
	bins, err := found()
	if err != nil {
		return err
	}
	c, err := Start(ctx, Config{Dir: filepath.Join(dir, "d"), BinDir: bins.Dir, Options: fast})
	if err != nil {
		return err
	}
	conn, err := pgx.Connect(ctx, c.URL("postgres"))
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(ctx) }()
	if _, err := conn.Exec(ctx, "CREATE TABLE kept (word text); INSERT INTO kept VALUES ('kept')"); err != nil {
		return err
	}
	return c.Stop(ctx)
}

// book returns the data directory of a cluster that exists, and was stopped
// cleanly, in a place that everyone may enter.
func book(t *testing.T) Config {
	t.Helper()
	return bookIn(t, openPlace(t))
}

func bookIn(t *testing.T, dir string) Config {
	t.Helper()
	need(t)
	fixtureOnce.Do(func() { fixtureErr = makeFixture() })
	require.NoError(t, fixtureErr)
	cfg := config(t, filepath.Join(dir, "d"))
	out, err := exec.Command("cp", "-Rp", filepath.Join(fixtureDir, "d"), cfg.Dir).CombinedOutput()
	require.NoError(t, err, string(out))
	return cfg
}

func config(t *testing.T, dir string) Config {
	t.Helper()
	return Config{Dir: dir, BinDir: need(t).Dir, Options: fast, Log: slog.New(slog.NewTextHandler(t.Output(), nil))}
}

// start starts the cluster in this process and stops it after the test.
func start(t *testing.T, cfg Config) *Cluster {
	t.Helper()
	c, err := Start(t.Context(), cfg)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Stop(context.Background()) })
	return c
}

// ask runs a query that returns one text.
func ask(t *testing.T, url, query string) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	defer func() { _ = conn.Close(context.Background()) }()
	var answer string
	require.NoError(t, conn.QueryRow(t.Context(), query).Scan(&answer))
	return answer
}

// tell runs statements.
func tell(t *testing.T, url, statements string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	defer func() { _ = conn.Close(context.Background()) }()
	_, err = conn.Exec(t.Context(), statements)
	require.NoError(t, err)
}

// requireKept checks that the book's row is there, and adds nothing.
func requireKept(t *testing.T, url string) {
	t.Helper()
	require.Equal(t, "kept", ask(t, url, "SELECT string_agg(word, ',') FROM kept"))
}

// eventually waits for what happens in another process.
func eventually(t *testing.T, what string, happened func() bool) {
	t.Helper()
	require.Eventually(t, happened, 10*time.Second, 20*time.Millisecond, what)
}

// processesOf lists the processes of the data directory's server, which bear
// its name or its path.
func processesOf(t *testing.T, dir string) []string {
	t.Helper()
	var found []string
	for _, line := range commandLines(t) {
		if strings.Contains(line, clusterName(dir)) || strings.Contains(line, dir+"/") {
			found = append(found, line)
		}
	}
	return found
}

func commandLines(t *testing.T) []string {
	t.Helper()
	if runtime.GOOS != "linux" {
		out, err := exec.Command("ps", "-axww", "-o", "args=").Output()
		require.NoError(t, err)
		return strings.Split(string(out), "\n")
	}
	files, err := filepath.Glob("/proc/[0-9]*/cmdline")
	require.NoError(t, err)
	var lines []string
	for _, file := range files {
		content, _ := os.ReadFile(file) // it may have ended
		lines = append(lines, fmt.Sprintf("%s: %s", file, strings.ReplaceAll(string(content), "\x00", " ")))
	}
	return lines
}

// requireNoProcess waits until no process of the server is left.
func requireNoProcess(t *testing.T, dir string) {
	t.Helper()
	eventually(t, "processes are left", func() bool { return len(processesOf(t, dir)) == 0 })
}
