package main

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// answer runs a command on the example colony and reads its JSON.
func answer[T any](t *testing.T, args ...string) T {
	t.Helper()
	var stdout, stderr bytes.Buffer
	args = append(args, "--quiet", "--format", "json", "--studbook", filepath.Join("..", "..", "examples", "harrow-fell", "studbook.csv"))
	require.Zero(t, run(context.Background(), args, &stdout, &stderr), stderr.String())
	var v T
	require.NoError(t, json.Unmarshal(stdout.Bytes(), &v))
	return v
}

// TestDocumentsAgree compares the review with every other answer, to the last
// digit.
func TestDocumentsAgree(t *testing.T) {
	type object = map[string]any
	review := answer[object](t, "review")
	list := func(v any) []any { return v.([]any) }

	birds := map[string]object{}
	for _, b := range answer[[]object](t, "birds") {
		birds[b["id"].(string)] = b
	}
	require.NotEmpty(t, review["birds"])
	for _, x := range list(review["birds"]) {
		b := x.(object)
		delete(b, "action")
		delete(b, "why")
		assert.Equal(t, birds[b["id"].(string)], b)
	}
	programme := review["genetics"].(object)["programme"].(object)
	mates := answer[object](t, "mates", "C0734")
	assert.Equal(t, programme["gene_diversity"], mates["population"].(object)["gene_diversity"])
	assert.Equal(t, programme["gene_diversity_without_founders"], mates["population"].(object)["gene_diversity_without_founders"])

	assert.Equal(t, answer[any](t, "mates"), review["unpaired"])
	plan := answer[object](t, "plan")
	delete(plan, "schema")
	delete(plan, "warnings")
	assert.Equal(t, plan, review["plan"])
	assert.Equal(t, answer[object](t, "check")["gaps"], review["gaps"])
	moves := list(answer[object](t, "transfer", "--list")["moves"])
	require.NotEmpty(t, moves)
	assert.Equal(t, moves, list(review["transfers"])[:len(moves)])

	for _, x := range list(review["pairs"]) {
		pair := x.(object)
		kin := answer[object](t, "kin", pair["female"].(string), pair["male"].(string))
		assert.Equal(t, kin["kinship"], pair["offspring_inbreeding"])
	}
}
