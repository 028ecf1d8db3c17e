package main

import (
	"bytes"
	"io"
	"path/filepath"
	"strings"
	"testing"
)

// BenchmarkCommands answers questions about the example from reading the files
// to the last byte of text, as the command does once it has started.
func BenchmarkCommands(b *testing.B) {
	studbook := filepath.Join("..", "..", "examples", "harrow-fell", "studbook.csv")
	for _, command := range []string{
		"check", "birds", "bird C0734", "kin C0419 C0841", "mates", "mates C0734", "plan",
		"transfer C0734", "transfer --list", "review", "review --format html",
	} {
		b.Run(strings.ReplaceAll(command, " ", "_"), func(b *testing.B) {
			args := append(strings.Fields(command), "--quiet", "--studbook", studbook)
			b.ReportAllocs()
			for b.Loop() {
				var stderr bytes.Buffer
				if code := run(b.Context(), args, io.Discard, &stderr); code != exitDone {
					b.Fatal(code, stderr.String())
				}
			}
		})
	}
}
