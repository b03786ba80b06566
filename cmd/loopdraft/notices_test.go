package main

import (
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestNotices holds the notices that the program prints against the licences in the folders of the modules it is built
// of, on any of three systems. Go's own library is built in too; its licence is that of the Go that wrote the file.
func TestNotices(t *testing.T) {
	const file = "notices.txt"
	licence := regexp.MustCompile(`(?i)^((un)?licen[cs]e|copying|notice|patents)`)
	want := notice(t, "loopdraft", "../..", "LICENSE")
	modules := map[string]string{} // a module and its version, and its folder
	fonts := false
	for _, system := range []string{"linux", "darwin", "windows"} {
		cmd := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}|{{.Dir}}|{{$.ImportPath}}{{end}}{{end}}", ".")
		cmd.Env = append(os.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=0")
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(out)) {
			words := strings.Split(strings.TrimSpace(line), "|")
			if len(words) == 3 {
				modules[words[0]] = words[1]
				fonts = fonts || strings.Contains(words[2], "/font/gofont/")
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(modules)) {
		dir := modules[name]
		found, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, entry := range found {
			if licence.MatchString(entry.Name()) && !entry.IsDir() {
				want += notice(t, name, dir, entry.Name())
				n++
			}
		}
		if n == 0 {
			t.Errorf("%s says nothing of its licence in %s", name, dir)
		}
		if fonts && strings.HasPrefix(name, "golang.org/x/image ") {
			want += notice(t, name+", the Go fonts", filepath.Join(dir, "font", "gofont", "ttfs"), "README")
		}
	}
	if *update {
		root, err := exec.Command("go", "env", "GOROOT").Output()
		if err != nil {
			t.Fatal(err)
		}
		text := want + notice(t, "Go's library", strings.TrimSpace(string(root)), "LICENSE")
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	kept, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if own, ok := strings.CutPrefix(string(kept), want); !ok || !strings.HasPrefix(own, "======== Go's library, ") {
		t.Errorf("%s is not what the modules say: go test ./cmd/loopdraft -run Notices -update", file)
	}
}

// notice is a file of a module under a line that names both.
func notice(t *testing.T, of, dir, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("======== %s, %s\n\n%s\n\n", of, name, strings.TrimSpace(strings.ReplaceAll(string(text), "\r\n", "\n")))
}
