package cluster

import (
	"fmt"
	"os"
)

// reach gives a child the paths of things in the data directory.
//
// A program that is root may keep its book where the user that PostgreSQL
// runs as cannot go: under the home of root, or in a temporary directory.
// The folders on the way stay closed then. The child inherits open
// directories instead, and the names that Linux gives to what a process has
// open, /proc/self/fd/N, lead straight to them. PostgreSQL hands what it
// inherited on to its own children, where the same names work.
type reach struct {
	dir    *folder
	closed bool       // the user cannot walk to the directory
	files  []*os.File // for exec.Cmd.ExtraFiles
}

func (o *opening) reach() *reach { return &reach{dir: o.dir, closed: o.closed} }

// firstExtra is the number of the first of exec.Cmd.ExtraFiles in the child.
const firstExtra = 3

// path returns a path to the name in the data directory that the child can
// use.
func (r *reach) path(name string) (string, error) {
	if !r.closed {
		return r.dir.at(name), nil
	}
	file, err := r.dir.Open(name)
	if err != nil {
		return "", err
	}
	r.files = append(r.files, file)
	return fmt.Sprintf("/proc/self/fd/%d", firstExtra+len(r.files)-1), nil
}

// close ends this program's hold on the files once the child has its own.
func (r *reach) close() {
	for _, file := range r.files {
		_ = file.Close()
	}
}
