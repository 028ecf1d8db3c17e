package question

import (
	"errors"
	"fmt"
	"strings"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// UnclearColonyError is a question about a colony, of which nothing tells which it
// is.
type UnclearColonyError struct{ Places []string }

// Error says what can be done.
func (e *UnclearColonyError) Error() string {
	return fmt.Sprintf("which colony? name its code with --colony, or set home in programme.toml; birds live at %s", strings.Join(e.Places, ", "))
}

// Advised adds to an error of the engine, which knows nothing of flags and
// addresses, what the reader can do about it.
func Advised(err error) error {
	var noFile *studbook.NoFileError
	var colony *pairing.ColonyError
	var unknown *pairing.NotFoundError
	switch {
	case errors.As(err, &noFile):
		return fmt.Errorf("%w; give the studbook with --studbook FILE", err)
	case errors.As(err, &colony) && colony.Birds == 0:
		return fmt.Errorf("%w; fill in a row for each bird, living or dead, or make a folder of the file that you have with pairwright import", err)
	case errors.As(err, &colony) && len(colony.Places) == 0:
		return fmt.Errorf("%w; give another day with --as-of, or name the colony's code with --colony", err)
	case errors.As(err, &colony):
		return &UnclearColonyError{colony.Places}
	case errors.As(err, &unknown) && unknown.AsSet: // the fault is in the files
		return fmt.Errorf("%w; correct home, give another day with --as-of, or name the colony's code with --colony", err)
	case errors.As(err, &unknown):
		return Usagef("%w", err)
	}
	return err
}
