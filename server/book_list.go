package server

import (
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/google/uuid"

	"skepwood/db"
)

// bookPage lists every entry, newest first.
type bookPage struct {
	base
	Kind     string
	Kinds    []db.Option
	Lines    []db.BookLine
	NextPage string
}

const bookPageSize = 50

// bookKinds are the choices of the Book's filter.
var bookKinds = []db.Option{
	{Value: "", Label: "everything"}, {Value: "change", Label: "corrections and strikes"}, {Value: "pickup", Label: "pickups"}, {Value: "lot", Label: "lots"}, {Value: "finding", Label: "findings"},
	{Value: "board", Label: "boards"}, {Value: "defect", Label: "defects"}, {Value: "reading", Label: "readings"}, {Value: "source", Label: "sources"}, {Value: "setting", Label: "figures"}, {Value: "policy", Label: "house policy"}, {Value: "allowance", Label: "widths of metal and saws"},
}

func (a *app) bookList(w http.ResponseWriter, r *http.Request) error {
	page := &bookPage{base: a.base(r, "Book"), Kinds: bookKinds, Kind: r.URL.Query().Get("kind")}
	filter := db.BookFilter{Kind: page.Kind, Limit: bookPageSize + 1}
	if micros, err := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64); err == nil && micros > 0 {
		filter.Before = time.UnixMicro(micros).UTC()
		filter.BeforeID, _ = uuid.Parse(r.URL.Query().Get("id")) // no id: from that moment on
	}
	lines, err := a.store.Book(r.Context(), filter)
	if err != nil {
		return err
	}
	if len(lines) > bookPageSize {
		lines = lines[:bookPageSize]
		last := lines[bookPageSize-1]
		q := url.Values{"kind": {page.Kind}, "before": {strconv.FormatInt(last.ReceivedAt.UnixMicro(), 10)}, "id": {last.ID.String()}}
		page.NextPage = "/book?" + q.Encode()
	}
	page.Lines = lines
	return a.show(w, "book_list", page)
}
