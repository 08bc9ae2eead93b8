package server

import (
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
)

// CheckOrigin says what is wrong with an origin that is to be trusted; a good
// one reads like https://wood.example.
func CheckOrigin(origin string) error {
	if err := http.NewCrossOriginProtection().AddTrustedOrigin(origin); err != nil {
		return fmt.Errorf("trusted origin %q: write it like https://wood.example: %w", origin, err)
	}
	return nil
}

// refuseOtherNames turns away requests that ask for this book under a name
// that is neither this machine's own nor a trusted origin's. A page elsewhere
// could otherwise point its own name at the loopback address and read the
// book, which has no accounts.
func (a *app) refuseOtherNames(origins []string) func(http.Handler) http.Handler {
	known := map[string]bool{"localhost": true}
	for _, origin := range origins {
		if u, err := url.Parse(origin); err == nil {
			known[strings.ToLower(u.Hostname())] = true
		}
	}
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			name := hostName(r.Host)
			if ip := net.ParseIP(name); !known[name] && (ip == nil || !ip.IsLoopback()) {
				a.fail(w, r, &statusError{http.StatusMisdirectedRequest, "This book answers at this machine's own address only, like http://localhost; a proxy's address must be named when the book is started."})
				return
			}
			next.ServeHTTP(w, r)
		})
	}
}

// hostName is a Host header without its port and brackets, in small letters.
func hostName(host string) string {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	return strings.ToLower(strings.TrimSuffix(strings.Trim(host, "[]"), "."))
}
