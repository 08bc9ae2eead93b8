//go:build unix

package dbtest

import (
	"os"
	"os/exec"
	"os/signal"
	"syscall"
)

// detach gives the keeper a session of its own: signals for the run do not
// reach it, and nobody waits for it.
func detach(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true} }

// endSignals tells the keeper to clean up before the run ends.
func endSignals() <-chan os.Signal {
	c := make(chan os.Signal, 1)
	signal.Ignore(syscall.SIGHUP, syscall.SIGINT)
	signal.Notify(c, syscall.SIGTERM)
	return c
}

// endAtOnce begins PostgreSQL's immediate shutdown.
func endAtOnce(pid int) { _ = syscall.Kill(pid, syscall.SIGQUIT) }

// lock waits for the lock on the file; the system releases it when the file
// is closed.
func lock(file *os.File) error {
	for {
		if err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX); err != syscall.EINTR { //nolint:errorlint // an errno
			return err
		}
	}
}

// isOwn tells whether the folder is this user's.
func isOwn(info os.FileInfo) bool { return int(info.Sys().(*syscall.Stat_t).Uid) == os.Getuid() }
