//go:build linux

package main

import (
	"bufio"
	"bytes"
	"context"
	"flag"
	"fmt"
	"html"
	"io"
	"maps"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/examples"
	"pairwright/pedigree/studbook/studbooktest"
)

// Two minutes of the example: go test ./cmd/pairwright -run Soak -v -soak 2m
var (
	soakFor    = flag.Duration("soak", 3*time.Second, "how long readers and a writer are at the pages together")
	soakFolder = flag.String("soak-folder", "", "the colony folder that they are at; default the example")
)

// What the server may need with so many readers and a writer.
const (
	soakReaders    = 50
	soakMemory     = 500 << 10 // kB
	soakGoroutines = 5         // that are left when all have gone
)

// TestSoak has fifty people read pages, each one after the other, while one
// writes holds down, and chicks that are taken back at once, through the forms of
// a running program. Nothing that was written may be lost, no page may be of two
// states of the files, and nothing may be left over when all have gone.
func TestSoak(t *testing.T) {
	dir := t.TempDir()
	from := examples.HarrowFell()
	if *soakFolder != "" {
		from = os.DirFS(*soakFolder)
	}
	require.NoError(t, os.CopyFS(dir, from))
	studbook := filepath.Join(dir, "studbook.csv")
	before, err := os.ReadFile(studbook)
	require.NoError(t, err)

	program, err := os.Executable() // TestMain makes it the program where it goes by that name
	require.NoError(t, err)
	serve := exec.Command(program)
	serve.Args = []string{"pairwright", "serve", "--no-open", "--studbook", studbook}
	serve.Env = append(os.Environ(), "HOME="+t.TempDir())
	var stderr bytes.Buffer
	serve.Stderr = &stderr
	out, err := serve.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, serve.Start())
	t.Cleanup(func() { _ = serve.Process.Kill() }) // if it has not ended by then
	first, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	at := strings.TrimSuffix(strings.TrimSpace(first[strings.LastIndex(first, " ")+1:]), "/")

	ctx, stop := context.WithTimeout(t.Context(), *soakFor)
	var readers sync.WaitGroup
	defer readers.Wait()
	defer stop()
	var pages, slowest atomic.Int64
	for k := range soakReaders {
		readers.Go(func() {
			c := newSoakClient(t, at)
			for n := k; ctx.Err() == nil; n++ {
				begun := time.Now()
				path := soakPages[n%len(soakPages)]
				status, page := c.ask(http.MethodGet, path, nil)
				took := time.Since(begun).Milliseconds()
				for was := slowest.Load(); took > was && !slowest.CompareAndSwap(was, took); was = slowest.Load() {
				}
				pages.Add(1)
				if !assert.Equal(t, http.StatusOK, status, "%s: %.300s", path, page) || path == "/birds" && !assert.NoError(t, oneState(page)) {
					return
				}
			}
			c.CloseIdleConnections()
		})
	}
	w := newSoakClient(t, at)
	holds := w.write(ctx)
	readers.Wait()
	w.CloseIdleConnections()
	memory := procNumber(t, serve.Process.Pid, "VmHWM")
	t.Logf("%d pages read, the slowest in %d ms; %d changes written; %d MB at most", pages.Load(), slowest.Load(), w.changes, memory>>10)
	if !studbooktest.Race {
		assert.Less(t, memory, soakMemory)
	}

	after, err := os.ReadFile(studbook)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(before, after), "every chick was taken back")
	held, err := os.ReadFile(filepath.Join(dir, "holds.csv"))
	require.NoError(t, err)
	assert.Equal(t, holds, regexp.MustCompile(`soak \d+`).FindAllString(string(held), -1), "every hold is there, in order")
	changes, err := os.ReadFile(filepath.Join(dir, "changes.csv"))
	require.NoError(t, err)
	told := map[string]bool{}
	for line := range strings.Lines(string(changes)) {
		if number, _, _ := strings.Cut(line, ","); number != "change" && number[0] != '#' {
			told[number] = true
		}
	}
	assert.Len(t, told, w.changes, "changes.csv tells of every change")

	require.Eventually(t, func() bool {
		return len(sockets(t, serve.Process.Pid)) <= 1 // the one that listens
	}, 20*time.Second, 50*time.Millisecond, "connections are closed")
	for was, is := -1, 0; was != is; was, is = is, cpu(t, serve.Process.Pid) {
		time.Sleep(300 * time.Millisecond) // it computes ahead for the last state of the files
	}
	require.NoError(t, serve.Process.Signal(syscall.SIGQUIT)) // it then says what it was at
	assert.Error(t, serve.Wait())
	var left []string
	for _, stack := range strings.Split(stderr.String(), "\n\n") {
		if strings.Contains(stack, "pairwright/") || strings.Contains(stack, "net/http") {
			left = append(left, stack)
		}
	}
	assert.NotEmpty(t, left)
	assert.LessOrEqual(t, len(left), soakGoroutines, "%s", left)
	assert.NotContains(t, stderr.String(), "DATA RACE")
}

// soakPages are what the readers read.
var soakPages = []string{
	"/", "/birds", "/bird/C0734", "/mates", "/data", "/kin?a=C0734&b=C0398", "/season", "/birds", "/plan", "/transfers", "/requests", "/record", "/record/hatch", "/help", "/mates?bird=C0734",
}

var (
	livingBirds   = regexp.MustCompile(`<p class="lead">([\d,]+) living birds`)
	programmeSize = regexp.MustCompile(`Programme ([\d,]+) living birds`)
	sealField     = regexp.MustCompile(`name="seal" value="([^"]+)"`)
	tokenField    = regexp.MustCompile(`name="token" value="([^"]+)"`)
)

// oneState checks that the list of birds is of one state of the files: it counts
// as many as it has rows, and as the programme has birds.
func oneState(page string) error {
	lead, programme := livingBirds.FindStringSubmatch(page), programmeSize.FindStringSubmatch(page)
	if lead == nil || programme == nil {
		return fmt.Errorf("no list of birds: %.300s", page)
	}
	rows := strings.Count(page, `<th scope="row"`)
	count, err := strconv.Atoi(strings.ReplaceAll(lead[1], ",", ""))
	if err != nil || count != rows || lead[1] != programme[1] {
		return fmt.Errorf("%s birds, %d rows, %s in the programme", lead[1], rows, programme[1])
	}
	return nil
}

// soakClient is somebody with a browser.
type soakClient struct {
	http.Client
	t       *testing.T
	at      string
	token   string
	changes int    // that it has written
	done    string // the number of the change that the last page tells of
}

func newSoakClient(t *testing.T, at string) *soakClient {
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Error(err)
	}
	return &soakClient{Client: http.Client{Jar: jar, Transport: &http.Transport{}}, t: t, at: at}
}

// ask asks for a page; status 0 is none at all.
func (c *soakClient) ask(method, path string, form url.Values) (status int, page string) {
	r, err := http.NewRequest(method, c.at+path, strings.NewReader(form.Encode()))
	if !assert.NoError(c.t, err) {
		return 0, ""
	}
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	answer, err := c.Do(r)
	if err != nil {
		return 0, err.Error()
	}
	defer answer.Body.Close() // it was read alone
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		return 0, err.Error()
	}
	c.done = answer.Request.URL.Query().Get("done")
	return answer.StatusCode, string(text)
}

// tell writes an event down, or takes the last back: it is shown first, then
// written as it was shown, and the page that follows must tell of it.
func (c *soakClient) tell(path string, form url.Values) {
	c.t.Helper()
	form = maps.Clone(form)
	if form == nil {
		form = url.Values{}
	}
	if c.token == "" {
		_, page := c.ask(http.MethodGet, "/record/hold", nil)
		c.token = match(c.t, tokenField, page)
	}
	form.Set("token", c.token)
	_, shown := c.ask(http.MethodPost, path, form)
	form.Set("seal", match(c.t, sealField, shown))
	status, page := c.ask(http.MethodPost, path, form)
	c.changes++
	require.Equal(c.t, http.StatusOK, status, page)
	require.Equal(c.t, strconv.Itoa(c.changes), c.done, "%.2000s", page)
	require.Regexp(c.t, `(Written|Taken) (down|back): `, page)
}

// write writes until the context ends, one round at least, and returns the
// reasons of the holds that it wrote down.
func (c *soakClient) write(ctx context.Context) (holds []string) {
	_, page := c.ask(http.MethodGet, "/birds", nil)
	living := regexp.MustCompile(`<th scope="row"[^>]*>(?:<span>)?<a href="/bird\?bird=([^"&]+)`).FindAllStringSubmatch(page, -1)
	require.NotEmpty(c.t, living)
	for n := 0; n == 0 || ctx.Err() == nil; n++ {
		reason := fmt.Sprintf("soak %d", n)
		c.tell("/record/hold", url.Values{"bird": {living[n%len(living)][1]}, "since": {"2026-09-30"}, "reason": {reason}})
		holds = append(holds, reason)
		c.tell("/record/hatch", url.Values{"dam": {"C0741"}, "date": {"2026-09-29"}})
		c.tell("/undo", nil)
	}
	return holds
}

func match(t *testing.T, what *regexp.Regexp, page string) string {
	t.Helper()
	m := what.FindStringSubmatch(page)
	require.NotNil(t, m, "%s in %.2000s", what, page)
	return html.UnescapeString(m[1])
}

// procNumber is a number that the system has of a process, in kB where it is of memory.
func procNumber(t *testing.T, pid int, name string) int {
	t.Helper()
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	require.NoError(t, err)
	m := regexp.MustCompile(`(?m)^` + name + `:\s+(\d+)`).FindSubmatch(raw)
	require.NotNil(t, m)
	n, err := strconv.Atoi(string(m[1]))
	require.NoError(t, err)
	return n
}

// cpu is how long a process has computed, in the ticks of the system.
func cpu(t *testing.T, pid int) int {
	t.Helper()
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	require.NoError(t, err)
	fields := strings.Fields(string(raw[bytes.LastIndexByte(raw, ')')+1:]))
	user, err := strconv.Atoi(fields[11])
	require.NoError(t, err)
	system, err := strconv.Atoi(fields[12])
	require.NoError(t, err)
	return user + system
}

// sockets are those that a process has open.
func sockets(t *testing.T, pid int) []string {
	t.Helper()
	dir := fmt.Sprintf("/proc/%d/fd", pid)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var out []string
	for _, e := range entries {
		if to, err := os.Readlink(filepath.Join(dir, e.Name())); err == nil && strings.HasPrefix(to, "socket:") {
			out = append(out, to)
		}
	}
	slices.Sort(out)
	return out
}
