//go:build unix

package cluster

import (
	"math"
	"os"
	"syscall"
)

func rootDir() string { return "/" }

// credential changes the user of a child when the program is root. The child
// keeps none of root's supplementary groups.
func credential(id identity) *syscall.Credential {
	if !id.drop || id.uid < 0 || id.uid > math.MaxUint32 || id.gid < 0 || id.gid > math.MaxUint32 {
		return nil
	}
	return &syscall.Credential{Uid: uint32(id.uid), Gid: uint32(id.gid)}
}

// fastStop, immediateStop ask a PostgreSQL server to end: with a checkpoint,
// or at once so that it recovers at the next start.
func (p *process) fastStop(Binaries) error      { return p.cmd.Process.Signal(syscall.SIGINT) }
func (p *process) immediateStop(Binaries) error { return p.cmd.Process.Signal(syscall.SIGQUIT) }

// terminate asks the whole process group to end, kill ends it.
func (p *process) terminate() { _ = syscall.Kill(-p.pid(), syscall.SIGTERM) }
func (p *process) kill()      { _ = syscall.Kill(-p.pid(), syscall.SIGKILL) }

// stopSurvivor asks a server that is not our child to shut down fast.
func stopSurvivor(server *os.Process) error { return server.Signal(syscall.SIGINT) }
