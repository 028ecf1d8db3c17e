package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/web"
	"pairwright/pedigree/studbook"
)

// serveFlags are what serve can be told.
type serveFlags struct {
	studbook string
	columns  []string
	host     string
	port     int
	noOpen   bool
	readOnly bool
	button   bool
}

// usualPort is where the pages are, as long as nothing else is there; a test has its own.
var usualPort = 8734

func newServe(stdout, stderr io.Writer) *cobra.Command {
	f := &serveFlags{}
	cmd := &cobra.Command{
		Use:     "serve",
		GroupID: question.Look,
		Short:   "Show the colony in the browser, with everything that can be asked",
		Long: `Shows the colony as pages in the browser of this machine, from which everything
can be asked, printed and saved, and opens it. Nothing leaves the machine, and
no connection to the Internet is needed. Without a studbook it shows the example
colony. Files that change on disk are read again. Ctrl-C stops it.

Nobody else can reach the pages. With --host others can, by the whole address
that is printed: it has a token in it, which stands for a password.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return question.Usagef("serve takes no %q; give the studbook with --studbook FILE", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return f.run(cmd.Context(), stdout, stderr) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.studbook, "studbook", "", "the studbook `FILE` (.csv or .xlsx); default: studbook.csv in this folder, or beside the program, or else the example")
	flags.IntVar(&f.port, "port", 0, fmt.Sprintf("the port `N` of the pages (default: %d, or a free one)", usualPort))
	flags.BoolVar(&f.noOpen, "no-open", false, "do not open the browser")
	flags.BoolVar(&f.readOnly, "read-only", false, "let the pages write nothing")
	flags.StringVar(&f.host, "host", "", "the `ADDRESS` of this machine to be reached by from others; 0.0.0.0 for all it has")
	flags.BoolVar(&f.button, "button", false, "put a button on every page that stops the program, for where there is no terminal to stop it in")
	flags.StringArrayVar(&f.columns, "column", nil, "what the files call a column, as `sire=Father`; may be given again")
	register(cmd, "studbook", completeStudbook)
	register(cmd, "column", completeColumn)
	register(cmd, "port", cobra.NoFileCompletions)
	register(cmd, "host", cobra.FixedCompletions([]cobra.Completion{"0.0.0.0", "127.0.0.1"}, cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

// run serves until the context ends.
func (f *serveFlags) run(ctx context.Context, stdout, stderr io.Writer) error {
	config, err := f.config(stderr)
	if err != nil {
		return err
	}
	// Where it was clicked again, or twice at once, one program is enough.
	usual := fmt.Sprintf("http://127.0.0.1:%d", usualPort)
	again := func() bool { return f.button && f.port == 0 && config.Runs(ctx, usual) }
	if again() {
		return f.showAgain(stdout, usual)
	}
	l, taken, err := f.listen(ctx)
	if err != nil {
		return err
	}
	defer l.Close() // closed before where it was served
	if taken && again() {
		return f.showAgain(stdout, usual)
	}
	if taken {
		fmt.Fprintf(stderr, "note: port %d is taken by another program, so the pages are at another port\n", usualPort)
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if f.button {
		config.Quit = stop
	}
	server, err := web.New(config)
	if err != nil {
		return err
	}
	at := f.address(l, config.Token)
	showing := "the example colony"
	if config.Studbook != "" {
		showing = config.Studbook
	}
	if _, err := fmt.Fprintf(stdout, "Showing %s at %s\nCtrl-C stops.\n", showing, at); err != nil {
		return err
	}
	if !f.noOpen {
		if err := openBrowser(at); err != nil {
			fmt.Fprintf(stderr, "note: the browser did not open (%v); open the address in it yourself\n", err)
		}
	}
	return server.Serve(ctx, l)
}

// showAgain opens the pages of the program that shows the same already.
func (f *serveFlags) showAgain(stdout io.Writer, at string) error {
	if _, err := fmt.Fprintf(stdout, "Pairwright runs already, at %s\n", at); err != nil || f.noOpen {
		return err
	}
	return openBrowser(at)
}

// config makes of the flags what to serve.
func (f *serveFlags) config(stderr io.Writer) (web.Config, error) {
	c := web.Config{Studbook: f.studbook, ReadOnly: f.readOnly, Version: version(), Log: slog.New(slog.NewTextHandler(stderr, nil))}
	switch {
	case f.port < 0 || f.port > 65535:
		return c, question.Usagef("--port %d: give a number from 1 to 65535", f.port)
	case f.studbook == "":
		c.Studbook = nearStudbook()
	default:
		switch info, err := os.Stat(f.studbook); {
		case errors.Is(err, fs.ErrNotExist):
			return c, question.Advised(&studbook.NoFileError{Name: f.studbook, Err: err})
		case err != nil:
			return c, err
		case !info.Mode().IsRegular():
			return c, question.Usagef("--studbook %s: it is no file", f.studbook)
		}
	}
	reading := question.Reading("serve")
	for _, s := range reading.Settings() {
		for _, text := range f.columns {
			if s.Key == "column" {
				if err := s.Set(text); err != nil {
					return c, question.Usagef("--column %s: %w", text, err)
				}
			}
		}
	}
	if c.Columns = reading.Columns; c.Studbook == "" && c.Columns != nil {
		return c, question.Usagef("--column is for files of your own: give the studbook with --studbook FILE")
	}
	if home, err := os.UserHomeDir(); err == nil {
		c.Imports = filepath.Join(home, "Pairwright")
	}
	if !f.local() {
		c.Token = rand.Text() // at least 128 bits
		c.Hosts = append(c.Hosts, strings.ToLower(f.host))
		if name, err := os.Hostname(); err == nil {
			c.Hosts = append(c.Hosts, strings.ToLower(name))
		}
	}
	return c, nil
}

// local reports whether this machine alone can reach the pages.
func (f *serveFlags) local() bool {
	ip := net.ParseIP(f.host)
	return f.host == "" || f.host == "localhost" || ip != nil && ip.IsLoopback()
}

// nearStudbook is a studbook in the current folder or beside the program, "" if
// there is none.
func nearStudbook() string {
	folders := []string{"."}
	if program, err := os.Executable(); err == nil {
		folders = append(folders, filepath.Dir(program))
	}
	for _, folder := range folders {
		name := filepath.Join(folder, "studbook.csv")
		if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() {
			return name
		}
	}
	return ""
}

// listen opens the port asked for, or the usual one, or a free one where that is taken.
func (f *serveFlags) listen(ctx context.Context) (l net.Listener, taken bool, err error) {
	host := f.host
	if host == "" {
		host = "127.0.0.1"
	}
	at := func(port int) string { return net.JoinHostPort(host, strconv.Itoa(port)) }
	var c net.ListenConfig
	if f.port != 0 {
		l, err := c.Listen(ctx, "tcp", at(f.port))
		if errors.Is(err, syscall.EADDRINUSE) {
			return nil, false, fmt.Errorf("port %d is taken, perhaps by Pairwright itself; leave out --port, or give another", f.port)
		}
		return l, false, f.unreachable(err)
	}
	if l, err = c.Listen(ctx, "tcp", at(usualPort)); err == nil {
		return l, false, nil
	}
	taken = errors.Is(err, syscall.EADDRINUSE)
	l, err = c.Listen(ctx, "tcp", at(0))
	return l, taken, f.unreachable(err)
}

// unreachable says that the pages cannot be where they were asked to be.
func (f *serveFlags) unreachable(err error) error {
	var name *net.DNSError
	var system *os.SyscallError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &name), errors.Is(err, syscall.EADDRNOTAVAIL):
		return question.Usagef("--host %s: this machine has no such address", f.host)
	case errors.As(err, &system):
		return fmt.Errorf("the pages cannot be shown at that port: %w; leave out --port, or give another", system.Err)
	}
	return err
}

// address is where the pages are, as a browser takes it.
func (f *serveFlags) address(l net.Listener, token string) string {
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		panic("a listener without a port: " + err.Error())
	}
	host := f.host
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
		if name, err := os.Hostname(); err == nil && !f.local() {
			host = name
		}
	}
	to := url.URL{Scheme: "http", Host: net.JoinHostPort(host, port), Path: "/"}
	if token != "" {
		to.RawQuery = url.Values{"token": {token}}.Encode()
	}
	return to.String()
}

// openBrowser opens an address in the browser that the user has chosen.
func openBrowser(at string) error {
	opener := []string{"xdg-open", at}
	switch runtime.GOOS {
	case "darwin":
		opener = []string{"open", at}
	case "windows":
		opener = []string{"rundll32", "url.dll,FileProtocolHandler", at}
	}
	cmd := exec.Command(opener[0], opener[1:]...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go func() { _ = cmd.Wait() }() // it stays open as long as it likes
	return nil
}
