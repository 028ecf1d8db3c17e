package studbook

// Snapshot is the state of a colony on one day. Birds that had not hatched do
// not exist, later deaths have not happened, later moves have not been made.
type Snapshot struct {
	Colony *Colony
	AsOf   Day

	// Birds are the birds that exist on the day, by id. Deaths after the day
	// are cleared, Location is where the bird was on the day.
	Birds []Bird

	// Living are the indices in Birds of the living, ascending.
	Living []int

	Bonds    []Bond   // begun on or before the day, open or ended, in file order; a later end is cleared
	Clutches []Clutch // laid on or before the day, in file order
	Holds    []Hold   // in force on the day, in file order

	index map[string]int
	mates map[string][]string
}
