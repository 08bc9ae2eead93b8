package dbtest

import (
	"os"
	"os/exec"
	"os/signal"
	"syscall"

	"golang.org/x/sys/windows"
)

func detach(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{CreationFlags: windows.DETACHED_PROCESS | windows.CREATE_NEW_PROCESS_GROUP}
}

func endSignals() <-chan os.Signal {
	c := make(chan os.Signal, 1)
	signal.Notify(c, os.Interrupt)
	return c
}

// endAtOnce leaves the end to the fast shutdown that follows.
func endAtOnce(int) {}

// lock has nothing to do: see isGo.
func lock(*os.File) error { return nil }

func isOwn(os.FileInfo) bool { return true }
