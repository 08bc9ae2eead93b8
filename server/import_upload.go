package server

import (
	"errors"
	"io"
	"io/fs"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"strings"

	"skepwood/db"
)

// importPage explains the sheets that can be read and reports on one upload.
type importPage struct {
	base
	Sheets  []sheetDoc
	Report  *db.ImportReport
	Problem string
	Checked bool
}

// sheetDoc is the documentation of one sheet.
type sheetDoc struct {
	File    string
	Columns []db.ColumnInfo
}

func sheetDocs() []sheetDoc {
	out := make([]sheetDoc, 0, 8)
	for _, k := range db.EntryKinds() {
		out = append(out, sheetDoc{File: db.SheetName(k), Columns: k.Info()})
	}
	return out
}

func (a *app) importShow(w http.ResponseWriter, r *http.Request) error {
	return a.show(w, "import", &importPage{base: a.base(r, "Import"), Sheets: sheetDocs()})
}

// importUpload reads the uploaded sheets. They are spooled to disk, since the
// importer looks at each file's header before it reads any.
func (a *app) importUpload(w http.ResponseWriter, r *http.Request) error {
	page := &importPage{base: a.base(r, "Import"), Sheets: sheetDocs()}
	dir, err := os.MkdirTemp("", "skepwood-import-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	sheets, check, err := spool(r, dir)
	if err != nil {
		return err
	}
	if len(sheets) == 0 {
		page.Problem = "No file was chosen. Choose one or more CSV files."
		return a.render(w, http.StatusUnprocessableEntity, "import", page)
	}
	page.Checked = check
	page.Report, err = a.store.Import(r.Context(), sheets, db.ImportOptions{Check: check, Keeper: page.Keeper})
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return err
		}
		page.Problem = faults.Error()
		return a.render(w, http.StatusUnprocessableEntity, "import", page)
	}
	if page.Report.FaultCount > 0 {
		return a.render(w, http.StatusUnprocessableEntity, "import", page)
	}
	return a.show(w, "import", page)
}

// maxFiles bounds the files of one upload.
const maxFiles = 50

// spool writes the uploaded files to dir as they arrive, so that memory does
// not grow with them.
func spool(r *http.Request, dir string) (sheets []db.Sheet, check bool, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, false, &statusError{http.StatusBadRequest, "The upload could not be read. Choose the files on the import page and send them again."}
	}
	for {
		part, err := parts.NextPart()
		if err == io.EOF { //nolint:errorlint // an upload that broke off wraps it
			return sheets, check, nil
		}
		if err != nil {
			return nil, false, uploadError(err)
		}
		if part.FormName() == "check" {
			check = true
			continue
		}
		if part.FormName() != "files" || part.FileName() == "" {
			continue
		}
		if len(sheets) == maxFiles {
			return nil, false, &statusError{http.StatusRequestEntityTooLarge, "These are more than 50 files. Send them in several goes."}
		}
		sheet, err := spoolOne(part, dir)
		if err != nil {
			return nil, false, uploadError(err)
		}
		sheets = append(sheets, sheet)
	}
}

func spoolOne(part *multipart.Part, dir string) (db.Sheet, error) {
	out, err := os.CreateTemp(dir, "sheet-*.csv")
	if err != nil {
		return db.Sheet{}, err
	}
	size, err := io.Copy(out, part)
	if err = errors.Join(err, out.Close()); err != nil {
		return db.Sheet{}, err
	}
	path := out.Name()
	name := filepath.Base(strings.ReplaceAll(part.FileName(), `\`, "/"))
	return db.Sheet{Name: name, Size: size, Open: func() (io.ReadCloser, error) { return os.Open(path) }}, nil
}

// uploadError tells an upload that is too large or broke off from failures on
// our side, such as a full disk.
func uploadError(err error) error {
	var tooBig *http.MaxBytesError
	var ours *fs.PathError
	switch {
	case errors.As(err, &tooBig):
		return tooBig
	case errors.As(err, &ours):
		return err
	default:
		return &statusError{http.StatusBadRequest, "The upload broke off or is damaged, and nothing was stored. Send the files again."}
	}
}
