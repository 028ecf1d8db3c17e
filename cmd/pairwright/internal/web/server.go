package web

import (
	"context"
	"crypto/rand"
	"errors"
	"io"
	"log/slog"
	"math"
	"net"
	"net/http"
	"runtime"
	"runtime/debug"
	"time"

	"pairwright/cmd/pairwright/internal/question"
)

// Config says what to serve, and to whom.
type Config struct {
	Studbook string            // path of the studbook; "" for the embedded example
	Columns  map[string]string // our column name to that of the files
	ReadOnly bool              // no page writes anything
	// Hosts are the names and addresses, without port, under which the server
	// may be asked for besides those of this machine for itself.
	Hosts []string
	// Token must be shown once by every browser, in the address
	// "/?token=…"; "" where the server can be reached from this machine alone.
	Token string
	// Imports is the folder that new colony folders are made in; "" for none.
	Imports string
	// Quit ends the program when the button for it on every page is pressed; nil
	// for no such button.
	Quit    func()
	Version string
	Log     *slog.Logger // of faults of the program; nil for none
}

// Runs reports whether a server that shows the same can be asked at an address
// of this machine: "http://127.0.0.1:8734".
func (c Config) Runs(ctx context.Context, at string) bool {
	ctx, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, at+RunningPath, nil)
	if err != nil {
		return false
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return false
	}
	defer answer.Body.Close() // it was read as far as is wanted
	said, err := io.ReadAll(io.LimitReader(answer.Body, largestHeaders))
	return err == nil && string(said) == c.running()
}

// How much the server does at once, and for how long.
const (
	requestsAtOnce  = 64
	longestAnswer   = 60 * time.Second
	longestGoodbye  = 500 * time.Millisecond
	largestForm     = 256 << 10 // bytes
	largestHeaders  = 64 << 10  // bytes
	headersWithin   = 5 * time.Second
	requestWithin   = 30 * time.Second
	writtenWithin   = longestAnswer + 30*time.Second
	idleConnections = 2 * time.Minute
	// memory is what the program tries to do with, in bytes: then it tidies up
	// more often.
	memory = 320 << 20
)

// Server serves the pages of one colony.
type Server struct {
	config  Config
	secret  [32]byte // that the tokens of forms are made with
	reader  reader
	work    slots // of computing for pages
	writing slots // of writing pages, which takes many times their length
	jobs    jobs
	makings makings
	// attention is how long a browser waits for a page before it is shown how far that is.
	attention time.Duration
	uploads   uploads
	sent      sentPages
	handler   http.Handler
}

// slots bound how much goes on at once.
type slots chan struct{}

// take waits for a slot; done gives it back.
func (s slots) take(ctx context.Context) (done func(), err error) {
	select {
	case s <- struct{}{}:
		return func() { <-s }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// New returns a server. Nothing is read before the first page is asked for.
func New(c Config) (*Server, error) {
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	cores := runtime.GOMAXPROCS(0)
	s := &Server{config: c, attention: attention, work: make(slots, cores), writing: make(slots, cores)}
	if _, err := rand.Read(s.secret[:]); err != nil {
		return nil, err
	}
	from := example()
	if c.Studbook != "" {
		from = onDisk(c.Studbook)
	}
	s.reader.open(from, c.Columns)
	s.jobs.begin()
	mux := http.NewServeMux()
	mux.Handle("GET /static/", http.HandlerFunc(serveStatic))
	for _, p := range pages() {
		mux.Handle(p.pattern, s.handle(p))
	}
	mux.Handle("/", s.handle(page{show: nowhere}))
	s.handler = s.guard(mux)
	return s, nil
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// changed has the next page look whether the files were written.
func (s *Server) changed() {
	s.reader.changed()
	s.makings.forget()
}

// Warm computes ahead what the first pages ask for.
func (s *Server) Warm(ctx context.Context) {
	if c, err := s.reader.now(ctx); err == nil { // else the pages say so
		s.warm(ctx, c)
	}
}

// warmEach computes ahead for every state of the files that is read from now on,
// until the next one or the end of the context.
func (s *Server) warmEach(ctx context.Context) {
	stop := func() {}
	s.reader.tell(func(c *colony) {
		stop()
		var last context.Context
		last, stop = context.WithCancel(ctx)
		go s.warm(last, c)
	})
	_, _ = s.reader.now(ctx) // the pages say what is wrong with it
}

func (s *Server) warm(ctx context.Context, c *colony) {
	if c.Faults != nil {
		return
	}
	for _, name := range []string{"colony", "mates", "birds"} {
		asked, err := question.Named(name).Parse(nil)
		if err != nil {
			return
		}
		if _, err := s.answer(ctx, asked, c.Folder); err != nil {
			return
		}
	}
}

// Serve answers what comes over the listener until the context ends; then what
// is being answered is finished, and nothing new is begun.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	h := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: headersWithin,
		ReadTimeout:       requestWithin,
		WriteTimeout:      writtenWithin,
		IdleTimeout:       idleConnections,
		MaxHeaderBytes:    largestHeaders,
		ErrorLog:          slog.NewLogLogger(s.config.Log.Handler(), slog.LevelWarn),
	}
	if debug.SetMemoryLimit(-1) == math.MaxInt64 { // the environment sets none
		debug.SetMemoryLimit(memory)
	}
	done := make(chan error, 1)
	go func() { done <- h.Serve(l) }()
	go s.warmEach(ctx)
	select {
	case err := <-done:
		s.jobs.end()
		return err
	case <-ctx.Done():
	}
	s.jobs.end()
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), longestGoodbye)
	defer cancel()
	if err := h.Shutdown(last); err != nil {
		return errors.Join(err, h.Close())
	}
	return nil
}
