package smf_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sources returns the package's own files by name.
func sources(t *testing.T) map[string]string {
	t.Helper()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = string(b)
	}
	if len(files) == 0 {
		t.Fatal("no sources found")
	}
	return files
}
