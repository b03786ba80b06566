package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// room is what a package of the module may import. Packages stand in an order in which each imports
// only packages above it.
type room struct {
	pkg    string
	ours   string // packages of the module, apart by spaces
	others string // modules of other people
}

// rooms is the whole module. Widening a row is a decision to give a reason for, not a way to make a
// build pass. Whoever imports smf/song may import smf, whose ticks and metres stand in song's
// signatures.
func rooms() []room {
	return []room{
		{"smf", "", "gitlab.com/gomidi/midi/v2"},
		{"smf/oracle", "smf", "gitlab.com/gomidi/midi/v2 github.com/chromedp"},
		{"smf/song", "smf", ""},
		{"smf/song/songtest", "smf smf/song", ""},
		{"smf/oracle/corpus", "smf/oracle", ""},
		{"smf/novelty", "", ""},
		{"smf/listen", "smf smf/song", ""},
		{"smf/form", "smf smf/song smf/novelty smf/listen", ""},
		{"smf/sound", "smf smf/novelty", "github.com/hajimehoshi/go-mp3 github.com/mewkiz/flac gonum.org/v1/gonum"},
		{"smf/picture", "smf smf/song smf/form", "golang.org/x/image"},
		{"moves/remark", "smf/song", ""},
		{"recipes/wording", "moves/remark", ""},
		{"moves/lay", "smf smf/song moves/remark", ""},
		{"moves/option", "smf smf/song", ""},
		{"moves/where", "smf smf/song moves/remark moves/option", ""},
		{"moves", "smf smf/song smf/listen smf/form moves/remark moves/lay moves/option moves/where", ""},
		{"moves/review", "smf smf/song smf/form moves/remark moves/option moves/where moves", ""},
		{"moves/movetest", "smf smf/song moves/remark recipes/wording moves/lay moves/where moves", "github.com/google/go-cmp"},
		{"recipes/builtin", "", ""},
		{"recipes/players", "smf/song", ""},
		{"recipes", "smf smf/song smf/listen smf/form moves/remark moves/lay moves/option moves/where moves moves/review recipes/builtin recipes/players recipes/wording", "gopkg.in/yaml.v3"},
		{"recipes/edit", "smf smf/song moves moves/option moves/where recipes", "gopkg.in/yaml.v3"},
		{"recipes/reference", "smf/song moves/option moves moves/review recipes", ""},
		{"recipes/study", "smf smf/song smf/novelty smf/sound smf/form moves/option moves/where", ""},
		{"testdata/loops/demo", "smf", ""},
		{"testdata/loops/generate", "testdata/loops/demo", ""},
		{"cmd/loopdraft", "smf smf/song smf/sound smf/listen smf/form smf/picture moves moves/review recipes recipes/edit recipes/reference recipes/study", "github.com/urfave/cli/v2 github.com/fsnotify/fsnotify"},
	}
}

// forTests are the packages that only tests import, and the program that lays files for them.
func forTests() []string {
	return []string{"smf/oracle", "smf/oracle/corpus", "smf/song/songtest", "moves/movetest"}
}

// testModules are the modules that tests may import besides those of any package.
func testModules() []string {
	return []string{"github.com/chromedp/chromedp", "github.com/google/go-cmp", "github.com/rogpeppe/go-internal", "github.com/santhosh-tekuri/jsonschema/v6", "gitlab.com/gomidi/midi/v2", "gonum.org/v1/gonum", "gopkg.in/yaml.v3"}
}

const module = "loopdraft/"

func TestImportsPointOneWay(t *testing.T) {
	found := packagesOf(t, os.DirFS("../.."))
	table := rooms()
	for i, r := range table {
		for _, p := range strings.Fields(r.ours) {
			if !slices.ContainsFunc(table[:i], func(above room) bool { return above.pkg == p }) {
				t.Errorf("the table lets %s import %s, which does not stand above it", r.pkg, p)
			}
		}
	}
	for _, p := range found {
		i := slices.IndexFunc(table, func(r room) bool { return r.pkg == p.pkg })
		if i < 0 {
			t.Errorf("package %s is not in the table", p.pkg)
			continue
		}
		for _, m := range misplaced(p, table[i]) {
			t.Error(m)
		}
	}
	for _, r := range table {
		if !slices.ContainsFunc(found, func(p imports) bool { return p.pkg == r.pkg }) {
			t.Errorf("package %s is in the table but not in the module", r.pkg)
		}
	}
}

func TestMisplacedImportsAreFound(t *testing.T) {
	r := room{"smf/song", "smf", "example.org/a"}
	for _, tt := range []struct {
		rule string
		p    imports
		want string
	}{
		{"a package further down", imports{pkg: "smf/song", code: []string{"loopdraft/moves"}}, "smf/song imports moves"},
		{"a module that is not its own", imports{pkg: "smf/song", code: []string{"example.org/ab"}}, "smf/song imports example.org/ab"},
		{"a package for tests", imports{pkg: "smf/song", code: []string{"loopdraft/smf/oracle"}}, "smf/song imports smf/oracle"},
		{"a strange module in a test", imports{pkg: "smf/song", tests: []string{"example.org/b"}}, "tests of smf/song import example.org/b"},
		{"what the table allows", imports{pkg: "smf/song", code: []string{"fmt", "loopdraft/smf", "example.org/a/x"}, tests: []string{"testing", "loopdraft/smf/oracle"}}, ""},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			if got := strings.Join(misplaced(tt.p, r), "; "); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// imports are the import paths of a package, those of its tests apart.
type imports struct {
	pkg         string
	code, tests []string
}

// misplaced names the imports that a room does not allow.
func misplaced(p imports, r room) []string {
	var out []string
	for _, path := range p.code {
		ours, isOurs := strings.CutPrefix(path, module)
		switch {
		case isOurs:
			testOnly := slices.Contains(forTests(), ours) && !slices.Contains(forTests(), p.pkg)
			if testOnly || !slices.Contains(strings.Fields(r.ours), ours) {
				out = append(out, p.pkg+" imports "+ours)
			}
		case !standard(path) && !inModules(path, strings.Fields(r.others)):
			out = append(out, p.pkg+" imports "+path)
		}
	}
	for _, path := range p.tests {
		if !strings.HasPrefix(path, module) && !standard(path) && !inModules(path, append(testModules(), strings.Fields(r.others)...)) {
			out = append(out, "tests of "+p.pkg+" import "+path)
		}
	}
	return out
}

// standard tells the standard library by its first element, which has no dot.
func standard(importPath string) bool {
	first, _, _ := strings.Cut(importPath, "/")
	return !strings.Contains(first, ".")
}

func inModules(importPath string, modules []string) bool {
	return slices.ContainsFunc(modules, func(m string) bool {
		return importPath == m || strings.HasPrefix(importPath, m+"/")
	})
}

// packagesOf reads the imports of every Go file of the module.
func packagesOf(t *testing.T, root fs.FS) []imports {
	t.Helper()
	var out []imports
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && name != "." && strings.HasPrefix(d.Name(), ".") {
			return fs.SkipDir
		}
		if d.IsDir() || path.Ext(name) != ".go" {
			return nil
		}
		source, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, source, parser.ImportsOnly)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(out, func(p imports) bool { return p.pkg == path.Dir(name) })
		if i < 0 {
			i = len(out)
			out = append(out, imports{pkg: path.Dir(name)})
		}
		for _, spec := range f.Imports {
			p, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if strings.HasSuffix(name, "_test.go") {
				out[i].tests = append(out[i].tests, p)
			} else {
				out[i].code = append(out[i].code, p)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
