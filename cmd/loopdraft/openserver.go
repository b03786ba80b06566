package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/subtle"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"loopdraft/smf/picture"
)

//go:embed open/open.css
var openCSS string

//go:embed open/open.html
var openHTML string

//go:embed open/open.js
var openJS string

// pageServer serves the page of a session to the browsers of this machine. Whoever asks has to know the secret in the
// address, to have reached it by that address and, where the browser says which page asks, to be this one.
type pageServer struct {
	until   context.Context // when it ends, so does what is still being answered
	session *session
	host    string
	secret  string
	http    *http.Server

	guard   sync.Mutex
	streams []chan struct{} // of pages that follow, the first that came first; one that is closed rests
}

// mostStreams is how many pages follow at a time: browsers keep six connections to one program, of which some are needed
// to ask by.
const mostStreams = 4

// stream begins to follow, and lets the page rest that has followed longest where there are too many. done ends it.
func (p *pageServer) stream() (rest chan struct{}, done func()) {
	p.guard.Lock()
	defer p.guard.Unlock()
	rest = make(chan struct{})
	if p.streams = append(p.streams, rest); len(p.streams) > mostStreams {
		close(p.streams[0])
		p.streams = p.streams[1:]
	}
	return rest, func() {
		p.guard.Lock()
		defer p.guard.Unlock()
		p.streams = slices.DeleteFunc(p.streams, func(c chan struct{}) bool { return c == rest })
	}
}

const secretBytes = 16

func newPageServer(until context.Context, s *session, host string) (*pageServer, error) {
	secret := make([]byte, secretBytes)
	if _, err := rand.Read(secret); err != nil {
		return nil, fmt.Errorf("found no secret for the address: %w", err)
	}
	p := &pageServer{until: until, session: s, host: host, secret: base64.RawURLEncoding.EncodeToString(secret)}
	p.http = &http.Server{Handler: p, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 30 * time.Second, MaxHeaderBytes: 16 << 10}
	return p, nil
}

func (p *pageServer) address() string { return "http://" + p.host + "/" + p.secret + "/" }

// ServeHTTP answers a request.
func (p *pageServer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	for name, value := range map[string]string{
		"Referrer-Policy": "no-referrer", "X-Content-Type-Options": "nosniff", "Cache-Control": "no-store",
		"Content-Security-Policy": "frame-ancestors 'none'", "Cross-Origin-Resource-Policy": "same-origin",
		"Cross-Origin-Opener-Policy": "same-origin",
	} {
		h.Set(name, value)
	}
	origin, says := r.Header["Origin"]
	secret, name, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	switch {
	case r.Host != p.host, says && (len(origin) != 1 || origin[0] != "http://"+p.host):
		http.Error(w, "found another address, want that which the program printed", http.StatusForbidden)
		return
	case subtle.ConstantTimeCompare([]byte(secret), []byte(p.secret)) != 1:
		http.Error(w, "found no such page, want the address that the program printed", http.StatusNotFound)
		return
	case name == "act" && r.Method == http.MethodPost && says:
		p.act(w, r)
		return
	case r.Method != http.MethodGet && r.Method != http.MethodHead:
		h.Set("Allow", "GET, HEAD") // RFC 9110, section 15.5.6
		http.Error(w, "found "+strconv.Quote(r.Method)+", want GET", http.StatusMethodNotAllowed)
		return
	}
	shown := p.session.shown.Load()
	id, isDraft := strings.CutPrefix(name, "draft/")
	form, isFile := strings.CutPrefix(name, "save/")
	switch {
	case name == "":
		h.Set("Content-Type", "text/html; charset=utf-8")
		var b bytes.Buffer
		if err := shown.now.page.Serve(&b, picture.Served{Style: openCSS, Markup: openHTML, Script: openJS}); err != nil {
			http.Error(w, printable(err.Error()), http.StatusInternalServerError)
			return
		}
		w.Write(b.Bytes())
	case name == "events" && r.Method == http.MethodGet:
		p.events(w, r)
	case isDraft && id == strconv.Itoa(shown.now.id):
		send(w, shown.now.json)
	case isDraft && shown.kept != nil && id == strconv.Itoa(shown.kept.id):
		send(w, shown.kept.json)
	case isDraft: // it has been replaced, of which its page is told
		w.WriteHeader(http.StatusNoContent)
	case name == "steps":
		sendJSON(w, shown.steps())
	case name == "moves":
		sendJSON(w, pageMoves())
	case name == "keys":
		sendJSON(w, shown.keys())
	case isFile:
		p.save(w, shown.now, form)
	default:
		http.Error(w, "found nothing of this name", http.StatusNotFound)
	}
}

// events tells of each change as it comes (server-sent events, HTML Living Standard 9.2), the state as it is first.
func (p *pageServer) events(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/event-stream")
	control := http.NewResponseController(w)
	control.SetReadDeadline(time.Time{}) // it stays open
	rest, done := p.stream()
	defer done()
	for {
		shown := p.session.shown.Load()
		data, err := json.Marshal(shown.state)
		if err != nil {
			return
		}
		if _, err := fmt.Fprintf(w, "data: %s\n\n", data); err != nil {
			return
		}
		if control.Flush() != nil {
			return
		}
		select {
		case <-shown.changed:
		case <-rest:
			fmt.Fprint(w, "event: rest\ndata:\n\n")
			return
		case <-r.Context().Done():
			return
		case <-p.until.Done():
			return
		}
	}
}

// mostOfAct is how many bytes a request to do something may have.
const mostOfAct = 64 << 10

// act does what the page asks for and answers what came of it.
func (p *pageServer) act(w http.ResponseWriter, r *http.Request) {
	var a action
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostOfAct))
	d.DisallowUnknownFields()
	err := d.Decode(&a)
	if err == nil && d.Decode(new(struct{})) != io.EOF {
		err = errors.New("there is more behind it")
	}
	if err != nil {
		http.Error(w, "found no action: "+printable(err.Error()), http.StatusBadRequest)
		return
	}
	sendJSON(w, p.session.act(a))
}

func send(w http.ResponseWriter, data []byte) {
	w.Header().Set("Content-Type", "application/json")
	w.Write(data)
}

func sendJSON(w http.ResponseWriter, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		http.Error(w, "found no answer", http.StatusInternalServerError)
		return
	}
	send(w, data)
}
