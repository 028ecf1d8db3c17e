package contract

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
)

// WriteObject writes an object of the contract as JSON that begins with what
// every object of it has: the name and version of its schema, and warnings.
func WriteObject(w io.Writer, schema string, warnings []string, v any) error {
	head, err := plainJSON(struct {
		Schema   string   `json:"schema"`
		Warnings []string `json:"warnings"`
	}{schema, append([]string{}, warnings...)})
	if err != nil {
		return err
	}
	body, err := plainJSON(v)
	if err != nil {
		return err
	}
	if !bytes.HasPrefix(body, []byte(`{"`)) {
		return fmt.Errorf("contract: %T is not written as an object with fields", v)
	}
	joined := append(append(bytes.TrimSuffix(head, []byte("}")), ','), body[1:]...)
	var b bytes.Buffer
	if err := json.Indent(&b, joined, "", "  "); err != nil {
		return err
	}
	b.WriteByte('\n')
	_, err = b.WriteTo(w)
	return err
}

// plainJSON returns a value as JSON; <, > and & stay as they are.
func plainJSON(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}
