package server

import (
	"context"
	"errors"
	"net/http"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
	"github.com/google/uuid"

	"skepwood/db"
)

// handler answers a request or returns why it could not.
type handler func(http.ResponseWriter, *http.Request) error

// statusError is a failure that a person may read as it stands.
type statusError struct {
	status  int
	message string
}

func (e *statusError) Error() string { return e.message }

// handle adapts a handler: a failure is logged once and shown as a page.
func (a *app) handle(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			a.fail(w, r, err)
		}
	}
}

// errorPage is what a person sees of a failure.
type errorPage struct {
	base
	Status    int
	Message   string
	RequestID string
}

func (a *app) fail(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil {
		return // whoever asked is gone: nobody would read the page
	}
	status, message := explain(err)
	if status >= http.StatusInternalServerError {
		a.log.ErrorContext(r.Context(), "request_failed", "method", r.Method, "path", r.URL.Path,
			"request_id", middleware.GetReqID(r.Context()), "error", err)
	}
	page := &errorPage{base: a.base(r, http.StatusText(status)), Status: status, Message: message, RequestID: middleware.GetReqID(r.Context())}
	if renderErr := a.render(w, status, "error", page); renderErr != nil {
		a.log.ErrorContext(r.Context(), "error_page_failed", "error", renderErr)
		http.Error(w, message, status)
	}
}

// explain chooses the status and the words for a failure. Internals stay in
// the log.
func explain(err error) (int, string) {
	var known *statusError
	var tooBig *http.MaxBytesError
	var conflict *db.ConflictError
	var faults db.FieldErrors
	switch {
	case errors.As(err, &known):
		return known.status, known.message
	case errors.As(err, &tooBig):
		return http.StatusRequestEntityTooLarge, "What was sent is larger than this page takes. Split it, or import it with the command `skepwood import`."
	case errors.As(err, &conflict):
		return http.StatusConflict, "Somebody corrected this entry meanwhile. Open it again and repeat your change."
	case errors.As(err, &faults):
		return http.StatusUnprocessableEntity, faults.Error()
	case db.IsNotFound(err):
		return http.StatusNotFound, "There is no such entry in the book."
	case errors.Is(err, context.Canceled):
		return 499, "The request was given up."
	default:
		return http.StatusInternalServerError, "Something went wrong on our side and nothing was changed. Try again; if it stays, give the number below to whoever runs this book."
	}
}

// pathID reads the {id} of the address.
func pathID(r *http.Request) (uuid.UUID, error) {
	id, err := uuid.Parse(chi.URLParam(r, "id"))
	if err != nil {
		return uuid.Nil, &statusError{http.StatusNotFound, "There is no such entry in the book."}
	}
	return id, nil
}

// seeOther sends the browser to a page after a form was stored, so that a
// reload does not send the form again.
func seeOther(w http.ResponseWriter, r *http.Request, path string) error {
	http.Redirect(w, r, path, http.StatusSeeOther)
	return nil
}

func (a *app) home(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, "/sources", http.StatusFound)
	return nil
}
