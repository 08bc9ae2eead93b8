package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"runtime/debug"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
)

// maxForm bounds ordinary forms, maxUpload the sheets of the import page.
const (
	maxForm   = 1 << 20
	maxUpload = 256 << 20
)

// numberRequests gives each request an id of its own. One that the client
// sends is not taken: it would come back in the log and on the error page.
func numberRequests(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), middleware.RequestIDKey, newID().String())))
	})
}

// maxDrain is how much of a form that is too large is read and thrown away: a
// connection that is closed while the browser still sends is shown as broken,
// and nobody reads why.
const maxDrain = 8 << 20

// limitBodies bounds what a request may send. What a form sends beyond is
// thrown away, so that the answer is read; far more is not waited for, nor are
// sheets beyond their limit.
func (a *app) limitBodies(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		limit, spare := int64(maxForm), int64(maxDrain)
		if strings.HasPrefix(r.URL.Path, "/import") {
			limit, spare = maxUpload, 0
		}
		if r.ContentLength > limit {
			w.Header().Set("Connection", "close")
			if r.ContentLength <= limit+spare {
				drain(r.Body, spare+limit)
			}
			a.fail(w, r, &http.MaxBytesError{Limit: limit})
			return
		}
		body := r.Body
		r.Body = http.MaxBytesReader(w, body, limit)
		next.ServeHTTP(w, r)
		drain(body, spare) // one that did not announce its size
	})
}

// drain reads the rest of a body, up to a bound.
func drain(body io.Reader, most int64) {
	_, _ = io.CopyN(io.Discard, body, most) // whoever hangs up meanwhile gets no answer
}

// refuseOddAddresses turns away addresses whose query holds what no entry can
// hold and PostgreSQL does not take: null bytes and bytes that are not UTF-8.
func (a *app) refuseOddAddresses(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		query, err := url.QueryUnescape(r.URL.RawQuery)
		if err != nil || !utf8.ValidString(query) || strings.ContainsRune(query, 0) {
			a.fail(w, r, &statusError{http.StatusBadRequest, "The address of this page is damaged. Open the page from its room above."})
			return
		}
		next.ServeHTTP(w, r)
	})
}

// secureHeaders are on every answer. Referrer-Policy is same-origin: with
// no-referrer browsers send "Origin: null" and plain-HTTP forms are refused.
func secureHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
		next.ServeHTTP(w, r)
	})
}

// logRequests writes one line for each request, by route rather than address.
func (a *app) logRequests(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		seen := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		next.ServeHTTP(seen, r)
		route := ""
		if c := chi.RouteContext(r.Context()); c != nil {
			route = c.RoutePattern()
		}
		a.log.InfoContext(r.Context(), "request", "method", r.Method, "route", route, "status", seen.Status(),
			"bytes", seen.BytesWritten(), "took", time.Since(began), "request_id", middleware.GetReqID(r.Context()))
	})
}

// recoverPanics turns a panic into the error page; the book stays open.
func (a *app) recoverPanics(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil {
				if err, ok := p.(error); ok && errors.Is(err, http.ErrAbortHandler) {
					panic(p)
				}
				a.fail(w, r, fmt.Errorf("panic: %v\n%s", p, debug.Stack()))
			}
		}()
		next.ServeHTTP(w, r)
	})
}

// livez says that the process answers.
func (a *app) livez(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	fmt.Fprintln(w, "ok")
}

// readyz says that the database answers and has this program's schema.
func (a *app) readyz(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	if err := a.store.Ready(r.Context()); err != nil {
		a.log.ErrorContext(r.Context(), "not_ready", "error", err)
		w.WriteHeader(http.StatusServiceUnavailable)
		fmt.Fprintln(w, "the database is not ready")
		return
	}
	fmt.Fprintln(w, "ok")
}
