package cluster

import (
	"errors"
	"os"
	"os/exec"
	"strconv"
	"syscall"

	"golang.org/x/sys/windows"
)

// lastSignal has no effect here; see stopSurvivor.
type lastSignal int

const (
	lastKill lastSignal = iota
	lastShutdown
)

func rootDir() string { return "" }

func setAttributes(cmd *exec.Cmd, _ identity, _ lastSignal) {
	cmd.SysProcAttr = &syscall.SysProcAttr{CreationFlags: windows.CREATE_NEW_PROCESS_GROUP}
}

// PostgreSQL on Windows listens for signals on a pipe that pg_ctl knows.
func (p *process) fastStop(bins Binaries) error      { return p.signal(bins, "INT") }
func (p *process) immediateStop(bins Binaries) error { return p.signal(bins, "QUIT") }

func (p *process) signal(bins Binaries, name string) error {
	return exec.Command(bins.program("pg_ctl"), "kill", name, strconv.Itoa(p.pid())).Run()
}

func (p *process) terminate() { p.kill() }
func (p *process) kill()      { _ = p.cmd.Process.Kill() }

// stopSurvivor leaves a server that outlived its program to the keeper,
// because what it is cannot be established here.
func stopSurvivor(*os.Process) error { return errors.ErrUnsupported }
