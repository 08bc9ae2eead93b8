package cluster

import (
	"os/exec"
	"syscall"
)

// lastSignal is what the system sends the child when the program dies.
type lastSignal = syscall.Signal

const (
	lastKill     = syscall.SIGKILL
	lastShutdown = syscall.SIGINT // PostgreSQL's fast shutdown
)

func setAttributes(cmd *exec.Cmd, id identity, last lastSignal) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: last, Credential: credential(id)}
}
