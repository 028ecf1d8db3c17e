//go:build race

package main

func init() { underRace = true }
