package main

import (
	"archive/zip"
	"bytes"
	"fmt"
	"mime"
	"net/http"
	"path/filepath"
	"strings"

	"loopdraft/smf/picture"
	"loopdraft/smf/song"
)

// save sends a draft as a file that the browser saves where it saves things.
func (p *pageServer) save(w http.ResponseWriter, d *openDraft, form string) {
	name := strings.TrimSuffix(draftName(p.session.named()), ".mid")
	var data []byte
	var err error
	switch form {
	case "midi":
		name += ".mid"
		data, err = d.result.File.Encode()
	case "split":
		name += ".zip"
		data, err = zipped(d)
	case "recipe":
		name += ".yaml"
		data = d.result.WriteRecipe()
	case "picture":
		name += ".svg"
		var b bytes.Buffer
		err = picture.SVG(&b, d.result.Song, d.chart)
		data = b.Bytes()
	default:
		http.Error(w, "found nothing of this name", http.StatusNotFound)
		return
	}
	if err != nil {
		http.Error(w, printable(err.Error()), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": filepath.Base(visible(name))}))
	w.Write(data)
}

// zipped puts the parts of a draft, each as a file of its own, into one.
func zipped(d *openDraft) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	files, err := d.result.Song.Split(song.ByPart)
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		data, err := f.File.Encode()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.Name, err)
		}
		w, err := z.Create(f.Name + ".mid")
		if err == nil {
			_, err = w.Write(data)
		}
		if err != nil {
			return nil, err
		}
	}
	err = z.Close()
	return b.Bytes(), err
}
