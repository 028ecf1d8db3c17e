// Package browser shows documents in a real browser, for the tests that are
// built with the tag browser.
package browser
