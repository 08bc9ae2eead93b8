package dbtest

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// parentVariable turns the test binary into a stand-in for the go command:
// it runs the test binary that the variable names twice at once, says what
// became of it, and waits to be killed.
const parentVariable = "SKEPWOOD_DBTEST_PARENT"

func TestMain(m *testing.M) {
	if binary := os.Getenv(parentVariable); binary != "" {
		parentMain(binary)
	}
	os.Exit(m.Run())
}

func parentMain(binary string) {
	_ = os.Unsetenv(parentVariable)
	outputs := make(chan string, 2)
	for range 2 {
		go func() {
			out, _ := exec.Command(binary, "-test.run=^TestVictim$", "-test.v").CombinedOutput()
			outputs <- string(out)
		}()
	}
	fmt.Println(strings.TrimSpace(<-outputs))
	fmt.Println(strings.TrimSpace(<-outputs))
	fmt.Println("both have ended")
	time.Sleep(time.Minute)
	os.Exit(0)
}

// victimVariable tells TestVictim how to end.
const victimVariable = "SKEPWOOD_DBTEST_VICTIM"

// traces is what a victim says about itself before its end.
type traces struct {
	Run run
	URL string
}

// TestVictim is run by other tests, in a process of its own.
func TestVictim(t *testing.T) {
	end := os.Getenv(victimVariable)
	if end == "" {
		return // there is nothing to see here in the run itself
	}
	url := Empty(t)
	line, err := json.Marshal(traces{Run: thisRun(), URL: url})
	require.NoError(t, err)
	fmt.Printf("traces %s\n", line)
	switch end {
	case "panic":
		panic("as wanted")
	case "hang":
		<-context.Background().Done()
	}
}

// left lists what there is of a run: folders and processes.
func left(t *testing.T, r run) []string {
	t.Helper()
	var found []string
	for _, place := range []string{os.TempDir(), memory} {
		names, err := filepath.Glob(filepath.Join(place, r.name()+"*"))
		require.NoError(t, err)
		found = append(found, names...)
	}
	files, err := filepath.Glob("/proc/[0-9]*/cmdline")
	require.NoError(t, err)
	order, err := json.Marshal(r)
	require.NoError(t, err)
	for _, file := range files {
		line, _ := os.ReadFile(file) // it may have ended
		env, _ := os.ReadFile(filepath.Join(filepath.Dir(file), "environ"))
		if strings.Contains(string(line), r.name()) || strings.Contains(string(env), keeperVariable+"="+string(order)) {
			found = append(found, file)
		}
	}
	return found
}

// requireGone waits until nothing is left of the run.
func requireGone(t *testing.T, r run) {
	t.Helper()
	require.Eventually(t, func() bool { return len(left(t, r)) == 0 }, 10*time.Second, 20*time.Millisecond, "traces are left")
}
