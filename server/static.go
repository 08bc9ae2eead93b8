package server

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
)

//go:embed static
var staticFiles embed.FS

// static serves the embedded style sheet, scripts and drawings. Their
// addresses carry a hash of their bytes, so they may be kept for ever.
type static struct {
	files map[string]staticFile
}

type staticFile struct {
	bytes []byte
	hash  string
	kind  string
}

func loadStatic() (*static, error) {
	s := &static{files: make(map[string]staticFile)}
	err := fs.WalkDir(staticFiles, "static", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := staticFiles.ReadFile(p)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(data)
		kind := mime.TypeByExtension(path.Ext(p))
		if path.Ext(p) == ".js" {
			kind = "text/javascript; charset=utf-8"
		}
		s.files[strings.TrimPrefix(p, "static/")] = staticFile{data, hex.EncodeToString(sum[:8]), kind}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read the embedded files: %w", err)
	}
	return s, nil
}

// url returns the address of a file with its hash.
func (s *static) url(name string) (string, error) {
	f, ok := s.files[name]
	if !ok {
		return "", fmt.Errorf("no static file %q", name)
	}
	return "/static/" + name + "?v=" + f.hash, nil
}

// ServeHTTP answers with the file, or 304 where the browser has it.
func (s *static) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	f, ok := s.files[strings.TrimPrefix(r.URL.Path, "/static/")]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("ETag", `"`+f.hash+`"`)
	w.Header().Set("Content-Type", f.kind)
	if r.URL.Query().Get("v") == f.hash {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if r.Header.Get("If-None-Match") == `"`+f.hash+`"` {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	_, _ = w.Write(f.bytes)
}
