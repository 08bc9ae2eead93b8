//go:build unix && !linux

package dbtest

import (
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// isGo tells whether the process is the go command.
func isGo(pid int) bool {
	program, err := exec.Command("/bin/ps", "-o", "comm=", "-p", strconv.Itoa(pid)).Output()
	return err == nil && filepath.Base(strings.TrimSpace(string(program))) == "go"
}

// startOf would need a program to be run each time the run is looked at.
func startOf(int) string { return "" }

// alive tells whether the run's process exists.
func (r run) alive() bool { return syscall.Kill(r.PID, 0) == nil }

// memory is empty: there is no folder whose files live in memory.
const memory = ""

func freeBytes(string) uint64 { return 0 }
