package cluster

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// The names inside the data directory; see the package comment.
const (
	dataName     = "pgdata"
	freshName    = "pgdata.new"
	passwordName = "pg.password"
	lockName     = "pg.lock"
	logName      = "pg.log"
	oldLogName   = "pg.log.old"
	socketsName  = "pg.sock"
)

// folder is the data directory. All files in it are reached through an
// os.Root, because the program may be root in a directory that an ordinary
// user can fill with links to elsewhere.
type folder struct {
	*os.Root

	path string
	id   identity
}

// openFolder opens the directory, making it and giving it to id when it does
// not exist.
func openFolder(path string, id identity) (*folder, error) {
	made := false
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return nil, fmt.Errorf("make the data directory: %w", err)
	}
	switch err := os.Mkdir(path, 0o700); {
	case err == nil:
		made = true
	case !errors.Is(err, fs.ErrExist):
		return nil, fmt.Errorf("make the data directory: %w", err)
	}
	root, err := os.OpenRoot(path)
	if err != nil {
		return nil, fmt.Errorf("open the data directory: %w", err)
	}
	f := &folder{Root: root, path: path, id: id}
	if made {
		if err := f.own("."); err != nil {
			return nil, errors.Join(err, root.Close())
		}
	}
	return f, nil
}

// at returns the full path of a name in the directory.
func (f *folder) at(name string) string { return filepath.Join(f.path, name) }

// own gives a file to the user that PostgreSQL runs as, so that a later
// start by that user without root finds nothing it may not open.
func (f *folder) own(name string) error {
	if !f.id.drop {
		return nil
	}
	if err := f.Lchown(name, f.id.uid, f.id.gid); err != nil {
		return fmt.Errorf("give %s to the user %s: %w", f.at(name), f.id.name, err)
	}
	return nil
}

// ownTree gives a whole tree away; it follows no links.
func (f *folder) ownTree(name string) error {
	return fs.WalkDir(f.FS(), name, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return f.own(path)
	})
}

// makeDir makes a private directory if it does not exist.
func (f *folder) makeDir(name string) error {
	if err := f.Mkdir(name, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return f.own(name)
}

// openFile opens a private file for reading and writing, making it if it
// does not exist.
func (f *folder) openFile(name string, flags int) (*os.File, error) {
	file, err := f.OpenFile(name, os.O_RDWR|os.O_CREATE|flags, 0o600)
	if err != nil {
		return nil, err
	}
	if err := f.own(name); err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return file, nil
}

// replaceFile writes a private file so that a crash leaves the old content
// or the new, never a part.
func (f *folder) replaceFile(name string, content []byte) error {
	temp := name + ".tmp"
	file, err := f.openFile(temp, os.O_TRUNC)
	if err != nil {
		return err
	}
	_, err = file.Write(content)
	if err == nil {
		err = file.Sync()
	}
	if err := errors.Join(err, file.Close()); err != nil {
		return err
	}
	return f.Rename(temp, name)
}

// sync makes renames in the directory durable, where the system can.
func (f *folder) sync() {
	if dir, err := f.Open("."); err == nil {
		_ = dir.Sync() // Windows cannot sync a directory, and needs not
		_ = dir.Close()
	}
}
