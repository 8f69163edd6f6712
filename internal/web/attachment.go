package web

import (
	"errors"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"linn/finding"
	"linn/internal/pathway"
)

// zone is the ward's, as the last change of the case was told in.
func (c *EyeCase) zone() *time.Location { return c.SavedAt.Location() }

// maxFile bounds a posted file with the form around it.
const maxFile = pathway.MaxAttachment + 64<<10

// bodyOf bounds what a request may bring.
func bodyOf(r *http.Request) int64 {
	if r.Method == http.MethodPost && strings.HasSuffix(r.URL.Path, "/file") && strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data") {
		return maxFile
	}
	return maxForm
}

// attach takes a file. It is read into memory: nothing of it stands on a disk
// unsealed.
func (s *server) attach(w http.ResponseWriter, r *http.Request, by Actor) error {
	file, what, err := fileOf(r)
	id := r.PathValue("id")
	if err == nil || errors.Is(err, errBadForm) { // a form without a file is answered by who may, and for which case
		err = s.Pathway.Attach(r.Context(), by, pathway.Attaching{Case: id, What: what, File: file})
	}
	if err == nil {
		s.to(w, r, "/case/"+id+"#done")
	}
	return err
}

// fileOf reads the parts of the form one after the other.
func fileOf(r *http.Request) (file []byte, what string, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, "", errBadForm
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return file, what, nil
		}
		if err != nil {
			return nil, "", tooBig(err)
		}
		text, err := io.ReadAll(io.LimitReader(part, maxFile))
		if err != nil {
			return nil, "", tooBig(err)
		}
		switch part.FormName() {
		case "file":
			file = text
		case "what":
			what = string(text)
		}
	}
}

// tooBig says that a file was too large, and otherwise that the form broke off.
func tooBig(err error) error {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		most := strconv.Itoa(pathway.MaxAttachment>>20) + "\u202fMB"
		return Refused("file-large", "file", finding.Value{Name: "got", Text: s1(most)}, finding.Value{Name: "most", Text: most})
	}
	return errBadForm
}

func s1(most string) string { return ">\u202f" + most }

// file serves an attachment. The type is the one that was found in its bytes,
// nothing in it runs, and a PDF is saved rather than opened here.
func (s *server) file(w http.ResponseWriter, r *http.Request, by Actor) error {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil {
		return ErrNotFound
	}
	f, err := s.Pathway.Attachment(r.Context(), by, r.PathValue("id"), n)
	if err != nil {
		return err
	}
	name, show := "attachment-"+strconv.Itoa(n), "inline"
	switch f.Type {
	case "image/jpeg":
		name += ".jpg"
	case "image/png":
		name += ".png"
	default:
		name, show = name+".pdf", "attachment"
	}
	h := w.Header()
	h.Set("Content-Type", string(f.Type))
	h.Set("Content-Disposition", show+`; filename="`+name+`"`)
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Length", strconv.Itoa(len(f.Bytes)))
	_, err = w.Write(f.Bytes)
	return err
}

func (s *server) detach(w http.ResponseWriter, r *http.Request, by Actor) error {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil {
		return ErrNotFound
	}
	err = s.Pathway.Detach(r.Context(), by, r.PathValue("id"), revision(r), n, r.PostForm.Get("reason"))
	if err == nil {
		s.to(w, r, "/case/"+r.PathValue("id")+"#done")
	}
	return err
}
