package main

import (
	"bytes"
	"sync"
	"testing"
	"time"
)

// log is a buffer that several goroutines may use.
type log struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// eventually waits until something holds; it gives up after a time in which even a slow machine has long done it.
func eventually(t *testing.T, what string, holds func() bool) {
	t.Helper()
	for range 600 {
		if holds() {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("waited in vain for %s", what)
}
