package main

import (
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestGuideNamesWhatIsThere holds DEVELOPERS.md against the repository: every file, folder and package it names is
// there, every test, benchmark and fuzz target that its commands run, and every package has its row.
func TestGuideNamesWhatIsThere(t *testing.T) {
	root := os.DirFS("../..")
	guide, err := fs.ReadFile(root, "DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	paths, targets := treeOf(t, root)
	for _, missing := range notThere(string(guide), paths, targets) {
		t.Errorf("DEVELOPERS.md names %s, which is not there", missing)
	}
	for _, p := range packagesOf(t, root) {
		if !strings.HasPrefix(p.pkg, "testdata/") && !strings.Contains(string(guide), "\n| `"+p.pkg+"` |") {
			t.Errorf("DEVELOPERS.md has no row for package %s", p.pkg)
		}
	}
}

func TestWhatAGuideLacksIsFound(t *testing.T) {
	paths := []string{".ci/run", "moves", "moves/thin.go", "smf", "smf/picture/page/page.css"}
	targets := []string{"TestThin", "BenchmarkThin", "FuzzThin"}
	for _, row := range []struct{ rule, guide, want string }{
		{"what is there", "`moves`, `moves/thin.go`, `thin.go`, `page/page.css`, `moves/NAME.go`, `.ci/run`, `go test ./...`, `a / b`", ""},
		{"a file that has gone", "`moves/thick.go`", "moves/thick.go"},
		{"a file beside others", "`thick.go`", "thick.go"},
		{"a part of a name is another name", "`in.go`", "in.go"},
		{"a folder", "`moves/lay/`", "moves/lay/"},
		{"a package of a command", "    go test ./smf ./mov", "./mov"},
		{"all that lies below a folder", "`go test ./smf/... ./mov/...`", "./mov/..."},
		{"a test", "`go test -run '^TestThi|^TestThick'`", "^TestThick"},
		{"a benchmark", "    go test ./smf -run '^$' -bench 'Thin|Thick' -benchtime 1x", "Thick"},
		{"a fuzz target", "    go test ./smf -run none -fuzz FuzzThick", "FuzzThick"},
	} {
		if got := strings.Join(notThere(row.guide, paths, targets), " "); got != row.want {
			t.Errorf("%s: got %q, want %q", row.rule, got, row.want)
		}
	}
}

// notThere lists what a guide names that is neither a path nor a target. NAME stands for any name, and the folder that
// a file is in may be left out where the text has said it.
func notThere(guide string, paths, targets []string) []string {
	code := regexp.MustCompile("`[^`\n]+`")
	folder := regexp.MustCompile(`\./[a-z][a-z/.]*`)
	run := regexp.MustCompile(`-(?:run|bench|fuzz) (?:'([^']+)'|(\w+))`)
	var out []string
	is := func(name string) bool {
		parts := strings.Split(strings.TrimSuffix(name, "/"), "/")
		return slices.ContainsFunc(paths, func(p string) bool {
			tail := strings.Split(p, "/")
			if len(tail) < len(parts) {
				return false
			}
			ok, _ := path.Match(strings.ReplaceAll(strings.Join(parts, "/"), "NAME", "*"), strings.Join(tail[len(tail)-len(parts):], "/"))
			return ok
		})
	}
	for _, word := range code.FindAllString(guide, -1) {
		name := strings.Trim(word, "`")
		if !strings.Contains(name, " ") && (strings.Contains(name, "/") || path.Ext(name) == ".go") && !is(name) {
			out = append(out, name)
		}
	}
	for _, word := range folder.FindAllString(guide, -1) {
		if name := strings.TrimSuffix(strings.TrimPrefix(word, "./"), "/..."); !slices.Contains(paths, name) {
			out = append(out, word)
		}
	}
	for _, m := range run.FindAllStringSubmatch(guide, -1) {
		for _, pattern := range strings.Split(m[1]+m[2], "|") {
			if pattern == "^$" || pattern == "none" {
				continue
			}
			re, err := regexp.Compile(pattern)
			if err != nil || !slices.ContainsFunc(targets, re.MatchString) {
				out = append(out, pattern)
			}
		}
	}
	return out
}

// treeOf returns the paths of all files and folders, and the names of all tests, benchmarks and fuzz targets.
func treeOf(t *testing.T, root fs.FS) (paths, targets []string) {
	t.Helper()
	target := regexp.MustCompile(`(?m)^func ((?:Test|Benchmark|Fuzz)\w+)\(`)
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && d.Name() == ".git" {
			return fs.SkipDir
		}
		paths = append(paths, name)
		if !strings.HasSuffix(name, "_test.go") {
			return nil
		}
		source, err := fs.ReadFile(root, name)
		for _, m := range target.FindAllSubmatch(source, -1) {
			targets = append(targets, string(m[1]))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return paths, targets
}
