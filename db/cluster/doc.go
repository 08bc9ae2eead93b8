// Package cluster runs the private PostgreSQL cluster in which the program
// keeps its book when it was not pointed at a server of the keeper's own.
//
// The package looks for PostgreSQL binaries on the machine and never
// downloads any; it creates a cluster once and never deletes, empties or
// rewrites one that exists. A cluster of another major version, one that is
// in use, one with the wrong owner or mode is refused with a typed error
// whose message says what to do, and is left exactly as it was.
//
// # Layout
//
// Everything lives in the data directory of the program, Config.Dir:
//
//	pgdata        the cluster, mode 0700
//	pgdata.new    a cluster being made; renamed to pgdata when complete
//	pg.password   password of the owner role, mode 0600
//	pg.lock       locked while a program uses the directory; holds its pid
//	pg.log        what PostgreSQL wrote, pg.log.old the file before it
//	pg.sock       directory of the unix socket, mode 0700
//
// # Lives and deaths
//
// PostgreSQL runs as a child in a process group of its own, so that a Ctrl-C
// in the terminal reaches only the program, which then calls Cluster.Stop.
// When the program is killed, Linux sends PostgreSQL the signal for a fast
// shutdown; where the system has no such service the next Start recognises
// the survivor and stops it. When PostgreSQL is killed, Cluster.Done closes
// and the next Start recovers from the write-ahead log.
//
// PostgreSQL refuses to run as root. Under root it runs as the user who
// owns the cluster already, or else as postgres, or else as nobody.
package cluster
