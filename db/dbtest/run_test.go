//go:build linux

package dbtest

import (
	"bufio"
	"encoding/json"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// victim starts a test process that ends in the given way, and returns it
// with what it says of itself.
func victim(t *testing.T, end string) (*exec.Cmd, traces) {
	t.Helper()
	need(t)
	cmd := exec.Command(os.Args[0], "-test.run=^TestVictim$")
	cmd.Env = append(os.Environ(), victimVariable+"="+end, URLVariable+"=")
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	lines := bufio.NewScanner(out)
	found := nextTraces(t, lines)
	go func() {
		_, _ = io.Copy(io.Discard, out) // so that it can say the rest
	}()
	return cmd, found
}

func nextTraces(t *testing.T, lines *bufio.Scanner) traces {
	t.Helper()
	for lines.Scan() {
		if text, ok := strings.CutPrefix(lines.Text(), "traces "); ok {
			var found traces
			require.NoError(t, json.Unmarshal([]byte(text), &found))
			return found
		}
	}
	t.Fatal("the process ended without a word")
	return traces{}
}

// However a test binary ends, nothing of its server stays behind.
func TestNothingIsLeft(t *testing.T) {
	t.Parallel()
	for name, test := range map[string]struct {
		end    string
		status int
	}{
		"pass":   {end: "pass"},
		"panic":  {end: "panic", status: 2}, // and so ends one that takes too long
		"killed": {end: "hang", status: -1},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			cmd, found := victim(t, test.end)
			require.Equal(t, cmd.Process.Pid, found.Run.PID, "no go command above it, so a server of its own")
			if name == "killed" {
				require.NotEmpty(t, left(t, found.Run))
				require.NoError(t, cmd.Process.Kill())
			}
			_ = cmd.Wait()
			require.Equal(t, test.status, cmd.ProcessState.ExitCode())
			requireGone(t, found.Run)
		})
	}
}

// The packages of one run share a server for as long as the run lasts, and a
// run that is killed takes it along.
func TestRunOfGo(t *testing.T) {
	t.Parallel()
	need(t)
	dir := t.TempDir()
	copyBinary(t, filepath.Join(dir, "go"))
	cmd := exec.Command(filepath.Join(dir, "go"))
	cmd.Env = append(os.Environ(), parentVariable+"="+os.Args[0], victimVariable+"=pass", URLVariable+"=")
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	defer func() { _ = cmd.Process.Kill() }()
	lines := bufio.NewScanner(out)
	one, two := nextTraces(t, lines), nextTraces(t, lines)
	for lines.Text() != "both have ended" {
		require.True(t, lines.Scan())
	}
	require.Equal(t, cmd.Process.Pid, one.Run.PID)
	require.Equal(t, one.Run, two.Run)
	first, err := url.Parse(one.URL)
	require.NoError(t, err)
	second, err := url.Parse(two.URL)
	require.NoError(t, err)
	require.NotEqual(t, first.Path, second.Path)
	first.Path, second.Path = "/postgres", "/postgres"
	require.Equal(t, first.String(), second.String(), "one server")

	conn, err := pgx.Connect(t.Context(), first.String())
	require.NoError(t, err, "the next package will want it")
	require.NoError(t, conn.Close(t.Context()))
	require.NoError(t, cmd.Process.Kill())
	_ = cmd.Wait()
	requireGone(t, one.Run)
}

func copyBinary(t *testing.T, to string) {
	t.Helper()
	content, err := os.ReadFile(os.Args[0])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(to, content, 0o755))
}

// Even the keeper may be killed: its server follows it, and the next run
// removes the files.
func TestKeeperIsKilled(t *testing.T) {
	t.Parallel()
	cmd, found := victim(t, "hang")
	order, err := json.Marshal(found.Run)
	require.NoError(t, err)
	require.NoError(t, syscall.Kill(keeperOf(t, string(order)), syscall.SIGKILL))
	require.Eventually(t, func() bool { return processes(t, found.Run) == 0 }, patience, watchInterval)
	require.NotEmpty(t, left(t, found.Run), "folders")
	sweepFolders(thisRun())
	require.NotEmpty(t, left(t, found.Run), "the run is alive")
	require.NoError(t, cmd.Process.Kill())
	_ = cmd.Wait()
	sweepFolders(thisRun())
	requireGone(t, found.Run)
}

func keeperOf(t *testing.T, order string) int {
	t.Helper()
	files, err := filepath.Glob("/proc/[0-9]*/environ")
	require.NoError(t, err)
	for _, file := range files {
		env, _ := os.ReadFile(file)
		if strings.Contains(string(env), keeperVariable+"="+order) {
			pid, err := strconv.Atoi(filepath.Base(filepath.Dir(file)))
			require.NoError(t, err)
			return pid
		}
	}
	t.Fatal("no keeper")
	return 0
}

// processes counts the servers of the run, whose command line has its name.
func processes(t *testing.T, r run) int {
	t.Helper()
	count := 0
	for _, trace := range left(t, r) {
		if strings.HasPrefix(trace, "/proc/") {
			count++
		}
	}
	return count
}

func TestRun(t *testing.T) {
	t.Parallel()
	r := thisRun()
	require.True(t, r.alive())
	require.Contains(t, []int{os.Getpid(), os.Getppid()}, r.PID)
	require.False(t, run{PID: r.PID, Start: r.Start + "1"}.alive(), "a later process with the same pid")
	require.False(t, run{PID: 4194000, Start: ""}.alive())

	parsed, ours := parseName(r.name())
	require.True(t, ours)
	require.Equal(t, r, parsed)
	for _, name := range []string{"", "skepwood-dbtest-", "other", namePrefix(), namePrefix() + "x-1", namePrefix() + "-1-1", "skepwood-dbtest-999999-1-1"} {
		_, ours := parseName(name)
		require.False(t, ours, name)
	}

	zombie := exec.Command("true")
	require.NoError(t, zombie.Start())
	dead := run{PID: zombie.Process.Pid, Start: startOf(zombie.Process.Pid)}
	require.Eventually(t, func() bool { return !dead.alive() }, patience, watchInterval, "a process that nobody buries is dead")
	_ = zombie.Wait()
}

func TestDataPlace(t *testing.T) {
	t.Parallel()
	if freeBytes(memory) >= enoughMemory {
		require.Equal(t, memory, dataPlace())
	} else {
		require.Equal(t, os.TempDir(), dataPlace())
	}
	require.NotZero(t, freeBytes(os.TempDir()))
	require.Zero(t, freeBytes("/no/such/folder"))
}

func TestMeetingPlaceOfSomeoneElse(t *testing.T) {
	t.Parallel()
	place := filepath.Join(t.TempDir(), "place")
	require.NoError(t, enter(place))
	require.NoError(t, enter(place), "a second time")
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	require.ErrorContains(t, enter(file), "remove it")
	link := filepath.Join(t.TempDir(), "link")
	require.NoError(t, os.Symlink(place, link))
	require.ErrorContains(t, enter(link), "remove it")
}

func TestAnswer(t *testing.T) {
	t.Parallel()
	place := t.TempDir()
	_, err := readAnswer(place)
	require.ErrorIs(t, err, os.ErrNotExist)
	require.NoError(t, writeAnswer(place, answer{URL: "postgres://x"}))
	url, err := readAnswer(place)
	require.NoError(t, err)
	require.Equal(t, "postgres://x", url)
	require.NoError(t, writeAnswer(place, answer{Error: "no room"}))
	_, err = readAnswer(place)
	require.EqualError(t, err, "no room")
	require.NoError(t, os.WriteFile(filepath.Join(place, answerName), []byte("{"), 0o600))
	_, err = readAnswer(place)
	require.ErrorContains(t, err, "read the keeper's answer")
}
