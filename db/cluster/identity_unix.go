//go:build unix

package cluster

import (
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
)

// chooseIdentity decides who runs the cluster in dir. A cluster, or a
// directory, that an ordinary user owns already stays with that user, so that
// one start as root does not lock its owner out.
func chooseIdentity(dir, runAs string) (identity, error) {
	if uid := os.Geteuid(); uid != 0 {
		return identity{name: userName(uid), uid: uid, gid: os.Getegid()}, nil
	}
	if runAs != "" {
		id, err := lookupIdentity(runAs)
		if err == nil && id.uid == 0 {
			err = fmt.Errorf("PostgreSQL cannot run as %s, which is root", runAs)
		}
		return id, err
	}
	for _, path := range []string{filepath.Join(dir, dataName), dir} {
		if info, err := os.Lstat(path); err == nil && info.IsDir() {
			if uid, gid := owner(info); uid != 0 {
				return identity{name: userName(uid), uid: uid, gid: gid, drop: true}, nil
			}
		}
	}
	for _, name := range []string{"postgres", "nobody"} {
		if id, err := lookupIdentity(name); err == nil && id.uid != 0 {
			return id, nil
		}
	}
	return identity{}, errNoUser
}

func lookupIdentity(name string) (identity, error) {
	account, err := user.Lookup(name)
	if err != nil {
		return identity{}, fmt.Errorf("find the user that PostgreSQL shall run as: %w", err)
	}
	uid, err := strconv.Atoi(account.Uid)
	if err != nil {
		return identity{}, fmt.Errorf("user %s: %w", name, err)
	}
	gid, err := strconv.Atoi(account.Gid)
	if err != nil {
		return identity{}, fmt.Errorf("user %s: %w", name, err)
	}
	return identity{name: name, uid: uid, gid: gid, drop: true}, nil
}

// userName returns the name of a user, or its number when it has none, as in
// a container.
func userName(uid int) string {
	number := strconv.Itoa(uid)
	if account, err := user.LookupId(number); err == nil {
		return account.Username
	}
	return number
}

func owner(info fs.FileInfo) (uid, gid int) {
	stat := info.Sys().(*syscall.Stat_t)
	return int(stat.Uid), int(stat.Gid)
}

// checkOwner refuses a cluster that PostgreSQL could not use. One that
// belongs to root, as after a copy back from a backup, is given to the user.
func (f *folder) checkOwner() error {
	info, err := f.Lstat(dataName)
	if err != nil {
		return err
	}
	uid, _ := owner(info)
	switch {
	case uid == f.id.uid:
		return nil
	case uid == 0 && f.id.drop:
		return f.ownTree(dataName)
	}
	return &FolderOwnerError{Path: f.at(dataName), Owner: userName(uid), User: f.id.name}
}

// mayEnter tells by the mode bits whether the user may enter the directory.
func (id identity) mayEnter(info fs.FileInfo) bool {
	uid, gid := owner(info)
	switch {
	case uid == id.uid:
		return info.Mode()&0o100 != 0
	case gid == id.gid:
		return info.Mode()&0o010 != 0
	}
	return info.Mode()&0o001 != 0
}

// closedFolder says which folder on the way to path is closed to the user.
// It is asked after the system has refused, so path is the answer when the
// mode bits, which are not the whole truth, do not tell.
func (id identity) closedFolder(path string) *ClosedFolderError {
	found := &ClosedFolderError{Path: path, Folder: path, User: id.name}
	for at := path; ; at = filepath.Dir(at) {
		info, err := os.Stat(at)
		if err == nil && at == path {
			found.Mode = info.Mode()
		}
		if err == nil && info.IsDir() && !id.mayEnter(info) {
			found.Folder, found.Mode = at, info.Mode()
		}
		if at == filepath.Dir(at) {
			return found
		}
	}
}
