package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"

	thirdparty "linn/third_party"
)

//go:embed static templates
var own embed.FS

// assets are the files the pages load, under one checksum: a new program
// gives every file a new address, so a browser may keep the old ones for good.
type assets struct {
	files map[string][]byte
	sum   string
}

func loadAssets() (*assets, error) {
	a := &assets{files: map[string][]byte{}}
	static, err := fs.Sub(own, "static")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	hash := sha256.New()
	for _, from := range []fs.FS{static, thirdparty.Files} {
		err := fs.WalkDir(from, ".", func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			b, err := fs.ReadFile(from, name)
			a.files[name] = b
			fmt.Fprintf(hash, "%s %d\n%s", name, len(b), b)
			return err
		})
		if err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
	}
	a.sum = hex.EncodeToString(hash.Sum(nil))[:16]
	return a, nil
}

// url is the address of a file; the style sheet's own links stay relative.
func (a *assets) url(name string) string { return "/static/" + a.sum + "/" + name }

func (s *server) static(w http.ResponseWriter, r *http.Request, _ Actor) error {
	name := r.PathValue("name")
	b, ok := s.assets.files[name]
	if !ok || r.PathValue("sum") != s.assets.sum {
		return errNowhere
	}
	kind := mime.TypeByExtension(path.Ext(name))
	switch {
	case strings.HasSuffix(name, ".woff2"):
		kind = "font/woff2"
	case kind == "":
		kind = "text/plain; charset=utf-8"
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	_, err := w.Write(b)
	return err
}

// parsePages reads every page with the common parts. A page's file begins
// with "page-"; all other files are common.
func parsePages(w words) (map[string]*template.Template, error) {
	names, err := fs.Glob(own, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	var common, pages []string
	for _, n := range names {
		if strings.HasPrefix(path.Base(n), "page-") {
			pages = append(pages, n)
		} else {
			common = append(common, n)
		}
	}
	shared, err := template.New("").Funcs(w.funcs()).ParseFS(own, common...)
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	all := map[string]*template.Template{}
	for _, n := range pages {
		t, err := shared.Clone()
		if err == nil {
			t, err = t.ParseFS(own, n)
		}
		if err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		all[strings.TrimSuffix(strings.TrimPrefix(path.Base(n), "page-"), ".html")] = t
	}
	return all, nil
}
