package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/pairing"
	"pairwright/pairing/board"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
)

// Birds that are to be banded or sexed by one day are one task; what is due on another day, or
// is another task, stays by itself, and the board's own tasks are as they were.
func TestTasksOfOneDay(t *testing.T) {
	task := func(what review.TaskKind, due studbook.Day, id string) board.Task {
		return board.Task{Decided: review.Decided{What: what, Birds: []*studbook.Bird{{ID: id}}, Why: []pairing.Reason{{Code: review.NeverSexed}}}, Due: due}
	}
	b := &board.Board{Tasks: []board.Task{
		task(board.BandBird, 20, "C1"), task(review.SexBird, 20, "C1"), task(board.BandBird, 20, "C2"), task(board.BandBird, 21, "C3"), task(review.SexBird, 20, "C2"), task(board.BandBird, 20, "C4"),
		task(board.EndQuarantine, 20, "C5"), task(board.EndQuarantine, 20, "C6"),
	}}
	var told []string
	for _, x := range BoardTasks(b) {
		told = append(told, TaskWhat("", &x))
	}
	assert.Equal(t, []string{"band C1, C2 and C4", "have C1 and C2 sexed", "band C3",
		"let C5 out of quarantine, once the veterinarian agrees", "let C6 out of quarantine, once the veterinarian agrees"}, told)
	assert.Len(t, b.Tasks[0].Birds, 1)
}
