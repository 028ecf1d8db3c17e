//go:build race && linux

package main

func init() { underRace = true }
