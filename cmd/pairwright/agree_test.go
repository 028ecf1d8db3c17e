package main

import (
	"bytes"
	"context"
	"encoding/json"
	"maps"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook/studbooktest"
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

type object = map[string]any

func objects(v any) (out []object) {
	for _, x := range v.([]any) {
		out = append(out, x.(object))
	}
	return out
}

// TestDocumentsAgree compares the review with every other answer, to the last
// digit.
func TestDocumentsAgree(t *testing.T) {
	studbooktest.WithoutRace(t)
	review := answer[object](t, "review", "--runs", "0")

	birds := map[string]object{}
	for _, b := range answer[[]object](t, "birds") {
		birds[b["id"].(string)] = b
	}
	require.NotEmpty(t, review["birds"])
	for _, b := range objects(review["birds"]) {
		delete(b, "action")
		delete(b, "why")
		delete(b, "genome_uniqueness_standard_error")
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
	assert.Equal(t, plan["young"], review["young"])
	assert.Equal(t, answer[object](t, "check")["gaps"], review["gaps"])
	moves := answer[object](t, "transfer", "--list")["moves"]
	require.NotEmpty(t, moves)
	assert.Equal(t, moves, review["transfers"])

	for _, pair := range objects(review["pairs"]) {
		kin := answer[object](t, "kin", pair["female"].(string), pair["male"].(string))
		assert.Equal(t, kin["kinship"], pair["offspring_inbreeding"])
	}
}

// TestEveryInstitutionHearsTheSame asks every institution of the example for its
// plan, the mates of its free birds, its transfers and its review: each names the
// same mate for a bird and the same move, nobody is promised to two, and nobody asks
// for a bird that cannot breed, unless it is young and to be there when it can.
func TestEveryInstitutionHearsTheSame(t *testing.T) {
	studbooktest.WithoutRace(t)
	type pair struct{ female, male, at string }
	pairs, mate := map[string]pair{}, map[string]string{}
	moves := map[string][2]string{} // of the bird that moves to a mate: from, to
	whole := answer[object](t, "plan", "--scope", "programme")
	for _, x := range objects(whole["pairs"]) {
		p := pair{x["female"].(string), x["male"].(string), x["location"].(string)}
		for _, b := range [2]string{p.female, p.male} {
			require.Empty(t, mate[b], "%s is promised to two", b)
			pairs[b] = p
		}
		mate[p.female], mate[p.male] = p.male, p.female
	}
	unpaired := map[string]bool{}
	for _, x := range objects(whole["unpaired"]) {
		unpaired[x["id"].(string)] = true
	}
	taken := map[string]bool{}
	var young []any
	for _, x := range objects(answer[object](t, "transfer", "--list", "--scope", "programme", "--top", "1000")["moves"]) {
		bird := x["bird"].(string)
		require.False(t, taken[bird], "%s moves twice", bird)
		taken[bird] = true
		if x["kind"] == "young" {
			young = append(young, bird)
			continue
		}
		moves[bird] = [2]string{x["from"].(string), x["to"].(string)}
		assert.Equal(t, mate[bird], x["partner"])
		assert.Equal(t, pairs[bird].at, x["to"])
	}
	require.NotEmpty(t, moves)
	require.NotEmpty(t, young)

	state, places := map[string]string{}, map[string]bool{}
	for _, b := range answer[[]object](t, "birds") {
		state[b["id"].(string)] = b["state"].(string)
		places[b["location"].(string)] = true
	}
	asked := 0
	for _, place := range slices.Sorted(maps.Keys(places)) {
		review := answer[object](t, "review", "--runs", "0", "--colony", place)
		boardAgrees(t, place, review)
		for _, x := range objects(review["plan"].(object)["pairs"]) {
			assert.Equal(t, x["male"], mate[x["female"].(string)], place)
			if x["role"] != nil || x["bond"] == "released" {
				assert.Equal(t, place, pairs[x["female"].(string)].at)
			} else {
				assert.NotEqual(t, place, x["location"], "a bird leaves for its mate")
			}
		}
		for _, x := range objects(review["pairs"]) {
			assert.Equal(t, x["male"], mate[x["female"].(string)], place)
		}
		gains := map[string]any{} // of the move that gives a bird of the place its mate
		for _, x := range objects(review["transfers"]) {
			if bird := x["bird"].(string); x["kind"] == "mate" {
				gains[bird], gains[mate[bird]] = x["net_gain"], x["net_gain"]
				assert.Equal(t, [2]string{x["from"].(string), x["to"].(string)}, moves[bird])
				assert.Equal(t, mate[bird], x["partner"])
			}
		}
		for _, x := range objects(review["birds"]) {
			bird := x["id"].(string)
			action := x["action"].(string)
			_, goes := moves[bird]
			assert.Equal(t, goes, action == "move to its mate", "%s: %s", bird, action)
			switch {
			case state[bird] != "free" && state[bird] != "bonded":
				assert.Contains(t, []string{"too young", "past breeding", "on hold", "find out its sex"}, action, bird)
			case unpaired[bird]:
				assert.Equal(t, "no mate this season", action, bird)
			}
		}
		for _, x := range objects(review["unpaired"]) {
			bird := x["bird"].(string)
			want, paired := mate[bird]
			decided, _ := x["decision"].(object)["mate"].(string)
			assert.Equal(t, want, decided, bird)
			if paired {
				assert.Equal(t, want, objects(x["best"])[0]["id"], "%s: mates names another first", bird)
				if gain, moved := gains[bird]; moved {
					assert.Equal(t, objects(x["best"])[0]["net_gain"], gain, bird)
				}
			}
			if asked++; asked%15 > 0 { // each takes a while
				continue
			}
			transfer := answer[object](t, "transfer", bird)
			_, goes := moves[bird]
			_, comes := moves[want]
			assert.Equal(t, goes || comes, transfer["needed"], bird)
			if goes || comes {
				assert.Equal(t, want, transfer["partner"])
			} else {
				assert.Nil(t, transfer["proposal"], bird)
			}
		}
	}
	none := 0
	for _, bird := range slices.Sorted(maps.Keys(state)) {
		if state[bird] == "free" || state[bird] == "bonded" {
			continue
		}
		if none++; none%40 > 0 {
			continue
		}
		transfer := answer[object](t, "transfer", bird)
		assert.Equal(t, state[bird], transfer["state"])
		assert.Equal(t, slices.Contains(young, any(bird)), transfer["needed"], bird)
	}
	for _, bird := range young[:min(2, len(young))] {
		assert.Equal(t, true, answer[object](t, "transfer", bird.(string))["needed"], bird)
	}
}

// boardAgrees compares the board of an institution with its review.
func boardAgrees(t *testing.T, place string, review object) {
	board := answer[object](t, "colony", "--colony", place)
	assert.Equal(t, review["at_a_glance"], board["at_a_glance"], place)
	plan := review["plan"].(object)
	assert.Equal(t, plan["season"], board["season"])
	pairs := map[string]object{}
	for _, x := range objects(review["pairs"]) {
		pairs[x["female"].(string)+x["male"].(string)] = x
	}
	planned := map[string]object{}
	for _, x := range objects(plan["pairs"]) {
		planned[x["female"].(string)+x["male"].(string)] = x
	}
	eggs := 0
	for _, n := range objects(board["nests"]) {
		key := n["female"].(string) + n["male"].(string)
		for _, same := range []string{"since", "nest", "bond", "role", "action", "hatch_up_to", "why"} {
			assert.Equal(t, pairs[key][same], n[same], "%s: %s of %s", place, same, key)
		}
		assert.Equal(t, planned[key]["order"], n["order"])
		if n["eggs"] != nil {
			assert.Contains(t, plan["eggs"], n["eggs"])
			eggs++
		}
	}
	assert.Len(t, plan["eggs"], eggs)
	alone := map[string]string{}
	for _, x := range objects(review["unpaired"]) {
		alone[x["bird"].(string)], _ = x["decision"].(object)["mate"].(string)
	}
	for _, x := range objects(board["birds"]) {
		if want, free := alone[x["id"].(string)]; free {
			mate, _ := x["mate"].(string)
			assert.Equal(t, want, mate, "%s: the mate of %s", place, x["id"])
		}
	}
	moves := map[string]object{}
	for _, x := range objects(board["tasks"]) {
		if kind := x["kind"]; kind == "move" || kind == "place" {
			moves[x["birds"].([]any)[0].(string)] = x
		}
	}
	anew := map[any]bool{} // young birds that are decided on anew before anything need be done
	for _, x := range objects(review["young"]) {
		anew[x["id"]] = x["decided_anew"] != nil
	}
	listed := slices.DeleteFunc(objects(review["transfers"]), func(x object) bool { return x["kind"] == "young" && anew[x["bird"]] })
	require.Len(t, moves, len(listed), place)
	for _, x := range listed {
		task := moves[x["bird"].(string)]
		assert.Equal(t, []any{x["from"], x["to"]}, []any{task["from"], task["to"]})
		if x["kind"] == "mate" {
			assert.Equal(t, x["partner"], task["birds"].([]any)[1])
		}
	}
}

// One pair has two net gains, one for each of its birds: "net gain of mate j for bird i"
// takes off what j would do otherwise (design, section 5.4). Every answer that has one
// says for which bird it is, and has the number of that bird's list of mates.
func TestWhoseNetGain(t *testing.T) {
	studbooktest.WithoutRace(t)
	gains := map[[2]string]any{} // for a bird, of a mate
	gain := func(bird, mate string) any {
		key := [2]string{bird, mate}
		if _, known := gains[key]; !known {
			for _, c := range objects(answer[object](t, "mates", bird, "--top", "1000")["candidates"]) {
				gains[[2]string{bird, c["id"].(string)}] = c["net_gain"]
			}
		}
		return gains[key]
	}
	told := 0
	agrees := func(x object, one, other string) {
		if x["net_gain"] == nil {
			assert.Nil(t, x["net_gain_for"])
			return
		}
		told++
		bird := x["net_gain_for"].(string)
		require.Contains(t, []string{one, other}, bird)
		mate := one
		if bird == one {
			mate = other
		}
		assert.InDelta(t, gain(bird, mate), x["net_gain"], 1e-12, "%s for %s", mate, bird)
	}
	for _, x := range objects(answer[object](t, "plan")["pairs"]) {
		agrees(x, x["female"].(string), x["male"].(string))
	}
	for _, x := range objects(answer[object](t, "transfer", "--list")["moves"]) {
		if x["partner"] != nil {
			agrees(x, x["bird"].(string), x["partner"].(string))
		}
	}
	for _, bird := range []string{"C0734", "C0902"} {
		x := answer[object](t, "transfer", bird)
		agrees(x, bird, x["partner"].(string))
		assert.Equal(t, bird, x["net_gain_for"])
	}
	assert.Greater(t, told, 3)
}
