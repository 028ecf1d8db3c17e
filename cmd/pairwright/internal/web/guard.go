package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// policy lets a page have what this server sends, and nothing else: no script
// and no style in the page itself, no frame around it.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard lets through what comes from a page of this server or was typed into a
// browser: no other name of the server (which keeps off sites that point their
// own name at this machine), no other site, nobody without the token where one
// is asked for, no more at once than the machine bears.
func (s *Server) guard(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	atOnce := make(slots, requestsAtOnce)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		switch {
		case !s.known(r.Host):
			http.Error(w, "This server is not known by that name. Open the address that pairwright serve printed.", http.StatusMisdirectedRequest)
			return
		case cross.Check(r) != nil, fetchedFromElsewhere(r):
			http.Error(w, "Another site asked for this page. Open it from Pairwright's own pages.", http.StatusForbidden)
			return
		case !s.welcome(w, r):
			return
		}
		done, err := atOnce.take(r.Context())
		if err != nil {
			return // nobody waits any more
		}
		defer done()
		next.ServeHTTP(w, r)
	})
}

// known reports whether a host, with or without a port, is this server.
func (s *Server) known(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.Trim(name, "[]"))
	if name == "localhost" || slices.Contains(s.config.Hosts, name) {
		return true
	}
	// A site can point its own name here, but not make another's address its name.
	address, err := netip.ParseAddr(name)
	return err == nil && (address.IsLoopback() || s.config.Token != "")
}

// fetchedFromElsewhere reports whether another site has the browser fetch
// something from here for a page of its own. To follow a link from there is no
// harm.
func fetchedFromElsewhere(r *http.Request) bool {
	return r.Header.Get("Sec-Fetch-Site") == "cross-site" && r.Header.Get("Sec-Fetch-Mode") != "navigate"
}

const (
	visitorCookie = "pairwright-visitor"
	doorCookie    = "pairwright-door"
)

// welcome asks for the token where there is one. Whoever shows it in the address
// is given a cookie and sent to the address without it.
func (s *Server) welcome(w http.ResponseWriter, r *http.Request) bool {
	if s.config.Token == "" {
		return true
	}
	if c, err := r.Cookie(doorCookie); err == nil && same(c.Value, s.seal("door")) {
		return true
	}
	query := r.URL.Query()
	if r.Method == http.MethodGet && same(query.Get("token"), s.config.Token) {
		query.Del("token")
		to := *r.URL
		to.RawQuery = query.Encode()
		http.SetCookie(w, &http.Cookie{Name: doorCookie, Value: s.seal("door"), Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode})
		http.Redirect(w, r, to.RequestURI(), http.StatusSeeOther)
		return false
	}
	http.Error(w, "Open the whole address that pairwright serve printed, with the token in it.", http.StatusForbidden)
	return false
}

// visitor returns what tells one browser from another, and gives it to a
// browser that has none.
func visitor(w http.ResponseWriter, r *http.Request) string {
	if c, err := r.Cookie(visitorCookie); err == nil && len(c.Value) == len(rand.Text()) {
		return c.Value
	}
	id := rand.Text()
	http.SetCookie(w, &http.Cookie{Name: visitorCookie, Value: id, Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode})
	return id
}

// seal returns a value that nobody else can make for a text.
func (s *Server) seal(text string) string {
	mac := hmac.New(sha256.New, s.secret[:])
	mac.Write([]byte(text)) // a hash takes everything
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }
