package cluster

import "errors"

// identity is the user that PostgreSQL runs as.
type identity struct {
	name     string
	uid, gid int
	// drop tells that the program is root and the child must change to uid.
	drop bool
}

var errNoUser = errors.New("PostgreSQL does not run as root, and neither the user postgres nor nobody exists: " +
	"make an ordinary user and run skepwood as that one")
