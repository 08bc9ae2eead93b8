package dbtest

import (
	"fmt"
	"os"
	"strconv"
	"strings"
)

// run is the process for whose lifetime a server is kept: the go command,
// which starts one test binary per package, or else the test binary itself.
type run struct {
	PID int
	// Start tells it from a later process with the same pid; empty where
	// the system does not say.
	Start string
}

// thisRun finds the run of this process. Parents other than the go command,
// a shell or an editor, may live for days.
func thisRun() run {
	pid := os.Getpid()
	if parent := os.Getppid(); isGo(parent) {
		pid = parent
	}
	return run{PID: pid, Start: startOf(pid)}
}

// namePrefix begins the names of all folders of this user's runs.
func namePrefix() string { return fmt.Sprintf("skepwood-dbtest-%d-", os.Getuid()) }

// name is the name of the run's folders.
func (r run) name() string { return fmt.Sprintf("%s%d-%s", namePrefix(), r.PID, r.Start) }

// parseName finds the run in the name of a folder of this user.
func parseName(name string) (run, bool) {
	rest, ours := strings.CutPrefix(name, namePrefix())
	number, start, _ := strings.Cut(rest, "-")
	pid, err := strconv.Atoi(number)
	return run{PID: pid, Start: start}, ours && err == nil && pid > 0
}
