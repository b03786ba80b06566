//go:build oracles

package oracle

import (
	"cmp"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/tracing"
	"github.com/chromedp/chromedp"
)

// pageTime is how long a page may be open.
const pageTime = 5 * time.Minute

// Browser is Chromium, without a window, on a machine that may have no sound.
type Browser struct{ ctx context.Context }

// StartBrowser starts a browser, which ends with the test.
func StartBrowser(t testing.TB) *Browser {
	t.Helper()
	Need(t, "chromium")
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.ExecPath("chromium"),
		chromedp.WindowSize(1500, 1200), chromedp.Flag("autoplay-policy", "no-user-gesture-required"))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	if err := chromedp.Run(ctx); err != nil {
		t.Fatal("chromium: ", err)
	}
	return &Browser{ctx}
}

// Page is an HTML file that is open in a browser.
type Page struct {
	t          testing.TB
	ctx        context.Context
	own        string // what the address of all begins with that it may ask for
	guard      sync.Mutex
	complaints []string
}

// Open opens a file of HTML in a tab of its own, which is closed with the test.
func (b *Browser) Open(t testing.TB, html []byte) *Page {
	t.Helper()
	name := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(name, html, 0o666); err != nil {
		t.Fatal(err)
	}
	return b.Visit(t, "file://"+name)
}

// Visit opens an address in a tab of its own, which is closed with the test. The page may ask for what lies under it.
func (b *Browser) Visit(t testing.TB, address string) *Page {
	t.Helper()
	ctx, stop := chromedp.NewContext(b.ctx)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, pageTime)
	t.Cleanup(stop)
	p := &Page{t: t, ctx: ctx, own: address}
	chromedp.ListenTarget(ctx, p.listen)
	if err := chromedp.Run(ctx, network.Enable(), log.Enable(), chromedp.Navigate(address), chromedp.WaitReady("body", chromedp.ByQuery)); err != nil {
		t.Fatal("chromium: ", err)
	}
	return p
}

// Reload opens the page's address again in the same tab.
func (p *Page) Reload() {
	p.t.Helper()
	if err := chromedp.Run(p.ctx, chromedp.Reload(), chromedp.WaitReady("body", chromedp.ByQuery)); err != nil {
		p.t.Fatal("chromium: ", err)
	}
}

// listen notes what the browser complains about, and whatever it asks for besides the page itself.
func (p *Page) listen(event any) {
	complaint := ""
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		complaint = e.ExceptionDetails.Error()
	case *runtime.EventConsoleAPICalled:
		for _, a := range e.Args {
			complaint += "console: " + string(a.Value)
		}
	case *log.EventEntryAdded:
		complaint = string(e.Entry.Source) + ": " + e.Entry.Text
	case *network.EventRequestWillBeSent:
		if !strings.HasPrefix(e.Request.URL, p.own) {
			complaint = "asks for " + e.Request.URL
		}
	}
	if complaint != "" {
		p.guard.Lock()
		defer p.guard.Unlock()
		p.complaints = append(p.complaints, complaint)
	}
}

// Complaints returns what the browser has complained about so far: errors, breaches of the page's policy,
// messages, and requests for anything but the page.
func (p *Page) Complaints() []string {
	p.guard.Lock()
	defer p.guard.Unlock()
	return p.complaints
}

// Eval runs JavaScript in the page, waits for its promise if it gives one, and reads its value into out
// as JSON; nil takes no value.
func (p *Page) Eval(script string, out any) {
	p.t.Helper()
	var value []byte
	err := chromedp.Run(p.ctx, chromedp.Evaluate("(async () => JSON.stringify((await ("+script+")) ?? null))()", &value,
		func(e *runtime.EvaluateParams) *runtime.EvaluateParams { return e.WithAwaitPromise(true) }))
	if err != nil {
		p.t.Fatalf("%v in\n%s", err, script)
	}
	if out == nil {
		return
	}
	var text string
	if err := json.Unmarshal(value, &text); err != nil {
		p.t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(text), out); err != nil {
		p.t.Fatalf("%v: %s gives %s", err, script, text)
	}
}

// Look gives the window a size in pixels, and the reader a liking for dark or light.
func (p *Page) Look(width, height int64, dark bool) {
	p.t.Helper()
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	err := chromedp.Run(p.ctx, emulation.SetDeviceMetricsOverride(width, height, 1, width < 600),
		emulation.SetEmulatedMedia().WithFeatures([]*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}))
	if err != nil {
		p.t.Fatal(err)
	}
}

// Tap touches a place in the window, as a finger does.
func (p *Page) Tap(x, y float64) {
	p.t.Helper()
	touch := input.DispatchTouchEvent
	err := chromedp.Run(p.ctx, touch(input.TouchStart, []*input.TouchPoint{{X: x, Y: y}}), touch(input.TouchEnd, []*input.TouchPoint{}))
	if err != nil {
		p.t.Fatal(err)
	}
}

// Violation is a rule of axe-core that an element of a page breaks.
type Violation struct {
	Rule, Help string
	Elements   []string
}

// Violations tells which rules of axe-core the page breaks: those of WCAG 2.0 to 2.2, levels A and AA, those called
// best practice, and those that axe-core still tries.
func (p *Page) Violations() (out []Violation) {
	p.t.Helper()
	Need(p.t, "axe-core")
	script, err := os.ReadFile(axe())
	if err != nil {
		p.t.Fatal(err)
	}
	if err := chromedp.Run(p.ctx, chromedp.Evaluate(string(script)+"\n;null", nil)); err != nil {
		p.t.Fatal(err)
	}
	p.Eval(`axe.run(document, {resultTypes: ["violations"], runOnly: {type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice", "experimental"]}})
		.then((found) => found.violations.map((v) => ({rule: v.id, help: v.help, elements: v.nodes.map((n) => n.html + " " + n.failureSummary)})))`, &out)
	return out
}

// Press presses keys one after the other, as names of chromedp's kb or characters.
func (p *Page) Press(keys ...string) {
	p.t.Helper()
	for _, k := range keys {
		if err := chromedp.Run(p.ctx, chromedp.KeyEvent(k)); err != nil {
			p.t.Fatal(err)
		}
	}
}

// Hover moves the pointer to a place in the window, in pixels from its upper left corner.
func (p *Page) Hover(x, y float64) {
	p.t.Helper()
	if err := chromedp.Run(p.ctx, chromedp.MouseEvent(input.MouseMoved, x, y)); err != nil {
		p.t.Fatal(err)
	}
}

// Click clicks at a place in the window.
func (p *Page) Click(x, y float64) {
	p.t.Helper()
	if err := chromedp.Run(p.ctx, chromedp.MouseClickXY(x, y)); err != nil {
		p.t.Fatal(err)
	}
}

// Frames records a trace while JavaScript runs in the page and returns how long its scripts ran in each frame, from one
// animation frame to the next, as the browser's own trace has it: what functions, timers and messages took of a
// processor, each counted once.
func (p *Page) Frames(script string) (out []time.Duration) {
	p.t.Helper()
	type traced struct {
		Name     string
		Ph       string
		Pid, Tid int
		Ts, Dur  int64 // microseconds
		Tdur     int64 // of these the thread ran so many; the others it waited for a processor
	}
	var events []traced
	var guard sync.Mutex
	done := make(chan struct{})
	ctx, stop := context.WithCancel(p.ctx)
	defer stop()
	chromedp.ListenTarget(ctx, func(event any) {
		switch e := event.(type) {
		case *tracing.EventDataCollected:
			guard.Lock()
			defer guard.Unlock()
			for _, data := range e.Value {
				var one traced
				if json.Unmarshal(data, &one) == nil && one.Ph == "X" {
					events = append(events, one)
				}
			}
		case *tracing.EventTracingComplete:
			close(done)
		}
	})
	start := tracing.Start().WithTransferMode(tracing.TransferModeReportEvents).WithTraceConfig(&tracing.TraceConfig{IncludedCategories: []string{"devtools.timeline"}})
	if err := chromedp.Run(p.ctx, start); err != nil {
		p.t.Fatal("chromium: ", err)
	}
	p.Eval(script, nil)
	if err := chromedp.Run(p.ctx, tracing.End()); err != nil {
		p.t.Fatal("chromium: ", err)
	}
	select {
	case <-done:
	case <-time.After(30 * time.Second):
		p.t.Fatal("chromium: waited in vain for the trace")
	}
	guard.Lock()
	defer guard.Unlock()
	slices.SortFunc(events, func(a, b traced) int { return cmp.Or(cmp.Compare(a.Ts, b.Ts), cmp.Compare(b.Dur, a.Dur)) })
	counts := map[[2]int]int{}
	most := [2]int{} // the thread with the most frames, which is the page's: other pages are hidden and have few
	for _, e := range events {
		if e.Name == "FireAnimationFrame" {
			at := [2]int{e.Pid, e.Tid}
			if counts[at]++; counts[at] > counts[most] {
				most = at
			}
		}
	}
	var spent, until int64
	for _, e := range events {
		switch {
		case [2]int{e.Pid, e.Tid} != most:
			continue
		case e.Name == "FireAnimationFrame":
			out = append(out, time.Duration(spent)*time.Microsecond)
			spent = 0
		case e.Name != "FunctionCall" && e.Name != "TimerFire" && e.Name != "EvaluateScript" && e.Name != "EventDispatch":
			continue
		}
		if e.Ts >= until { // else it stands in one that is counted
			spent, until = spent+cmp.Or(e.Tdur, e.Dur), e.Ts+e.Dur
		}
	}
	return out[min(1, len(out)):]
}

// Picture returns what the window shows, as PNG.
func (p *Page) Picture() (png []byte) {
	p.t.Helper()
	if err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot(&png)); err != nil {
		p.t.Fatal(err)
	}
	return png
}
