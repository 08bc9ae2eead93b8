package server

import (
	"archive/zip"
	"io"
	"net/http"
)

// exportZip sends the whole book as one archive of sheets.
func (a *app) exportZip(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="skepwood-book.zip"`)
	archive := zip.NewWriter(w)
	err := a.store.Export(r.Context(), func(name string) (io.WriteCloser, error) {
		out, err := archive.Create(name)
		return nopCloser{out}, err
	})
	if err != nil {
		// Half an archive may be on its way: break the connection, so that
		// nobody takes it for a whole one.
		a.log.ErrorContext(r.Context(), "export_failed", "error", err)
		panic(http.ErrAbortHandler)
	}
	return archive.Close()
}

type nopCloser struct{ io.Writer }

func (nopCloser) Close() error { return nil }
