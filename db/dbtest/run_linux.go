package dbtest

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// isGo tells whether the process is the go command.
func isGo(pid int) bool {
	program, err := os.Readlink(fmt.Sprintf("/proc/%d/exe", pid))
	return err == nil && filepath.Base(program) == "go"
}

// startOf returns when the process started, in the ticks of proc(5).
func startOf(pid int) string {
	_, start := stat(pid)
	return start
}

// alive tells whether the run's process exists and has not ended.
func (r run) alive() bool {
	state, start := stat(r.PID)
	return start == r.Start && state != "" && state != "Z" && state != "X"
}

// stat reads the state and the start from /proc/PID/stat, fields 3 and 22 by
// proc(5). The second field is in parentheses and may hold anything.
func stat(pid int) (state, start string) {
	content, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return "", ""
	}
	fields := bytes.Fields(content[bytes.LastIndexByte(content, ')')+1:])
	if len(fields) < 20 {
		return "", ""
	}
	return string(fields[0]), string(fields[19])
}

// memory is a folder whose files live in memory.
const memory = "/dev/shm"

// freeBytes returns the room in the file system of the folder.
func freeBytes(folder string) uint64 {
	var fs syscall.Statfs_t
	if err := syscall.Statfs(folder, &fs); err != nil || fs.Bsize <= 0 {
		return 0
	}
	return fs.Bavail * uint64(fs.Bsize)
}
