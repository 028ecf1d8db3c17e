package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/web"
)

// TestServeFromStartToEnd starts the server as the command does, asks it for a
// page, and stops it as Ctrl-C does.
func TestServeFromStartToEnd(t *testing.T) {
	for _, c := range []struct {
		name, shows string
		args        []string
		token       bool
	}{
		{"the example", "the example colony", nil, false},
		{"a studbook", "studbook.csv", []string{"--studbook", "../../examples/harrow-fell/studbook.csv"}, false},
		{"to others", "the example colony", []string{"--host", "0.0.0.0"}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			ctx, stop := context.WithCancel(t.Context())
			out, said := io.Pipe()
			done := make(chan int, 1)
			var stderr bytes.Buffer
			go func() { done <- run(ctx, append([]string{"serve", "--no-open"}, c.args...), said, &stderr) }()
			lines := bufio.NewScanner(out)
			require.True(t, lines.Scan())
			first := lines.Text()
			go io.Copy(io.Discard, out)
			assert.Contains(t, first, c.shows)
			at, err := url.Parse(first[strings.LastIndex(first, " ")+1:])
			require.NoError(t, err)
			assert.Equal(t, c.token, len(at.Query().Get("token")) >= 26, "26 characters of 32 are 130 bits")
			at.Host = "127.0.0.1:" + at.Port() // whatever this machine is called, it may not know itself by that name
			at.Path = "/birds"
			cookies, err := cookiejar.New(nil)
			require.NoError(t, err)
			client := http.Client{Jar: cookies}
			r, err := client.Get(at.String())
			require.NoError(t, err)
			text, err := io.ReadAll(r.Body)
			require.NoError(t, err)
			require.NoError(t, r.Body.Close())
			assert.Equal(t, http.StatusOK, r.StatusCode)
			assert.Contains(t, string(text), "C0734")
			client.CloseIdleConnections()
			stop()
			assert.Equal(t, exitDone, <-done, stderr.String())
		})
	}
}

func TestServeIsAskedWrongly(t *testing.T) {
	for args, want := range map[string]string{
		"serve birds":                        "serve takes no",
		"serve --port 70000":                 "--port 70000",
		"serve --studbook no/such/file.csv":  "there is no file no/such/file.csv",
		"serve --no-open --column sire":      "write it as sire=Father",
		"serve --no-open --host 203.0.113.7": "address", // none of this machine's
	} {
		var stdout, stderr bytes.Buffer
		assert.NotEqual(t, exitDone, run(t.Context(), strings.Fields(args), &stdout, &stderr), args)
		assert.Contains(t, stderr.String(), want, args)
		assert.Empty(t, stdout.String(), args)
	}
}

// TestTheUsualPortIsTaken: the pages are at another then, which is said; a second click
// finds the program that shows the same.
func TestTheUsualPortIsTaken(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	usual, was := l.Addr().String(), usualPort
	usualPort = l.Addr().(*net.TCPAddr).Port
	defer func() { usualPort = was }()
	config, err := (&serveFlags{}).config(io.Discard)
	require.NoError(t, err)
	shown, err := web.New(config)
	require.NoError(t, err)
	server := &http.Server{Handler: shown}
	go server.Serve(l)
	defer server.Close()
	start := func(args ...string) (said, noted string, code int) {
		ctx, stop := context.WithTimeout(t.Context(), 3*time.Second)
		defer stop()
		out, in := io.Pipe()
		var stderr bytes.Buffer
		done := make(chan int, 1)
		go func() {
			done <- run(ctx, append([]string{"serve", "--no-open"}, args...), in, &stderr)
			in.Close()
		}()
		said, _ = bufio.NewReader(out).ReadString('\n')
		stop()
		go io.Copy(io.Discard, out)
		code = <-done
		return said, stderr.String(), code
	}
	said, noted, code := start("--button")
	assert.Equal(t, "Pairwright runs already, at http://"+usual+"\n", said)
	assert.Empty(t, noted)
	assert.Equal(t, exitDone, code)
	said, noted, _ = start("--button", "--studbook", "../../examples/harrow-fell/studbook.csv")
	assert.Contains(t, said, "Showing ../../examples/harrow-fell/studbook.csv at http://127.0.0.1:")
	assert.NotContains(t, said, usual)
	assert.Contains(t, noted, fmt.Sprintf("port %d is taken by another program", usualPort))
}
