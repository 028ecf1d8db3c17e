package studbook

import "hash/maphash"

// register finds birds by their ids: those of a million take half the memory that a
// map of them does, and an id that is added is looked up once.
type register struct {
	ids  []string
	keys []uint64 // of the ids: most are short, and are not looked at in a text far off
	at   slots
}

// newRegister returns a register with room for so many birds.
func newRegister(birds int) *register {
	return &register{ids: large[string](birds)[:0], keys: large[uint64](birds)[:0], at: newSlots(birds)}
}

// registerOf returns a register of birds.
func registerOf(birds []Bird) *register {
	r := newRegister(len(birds))
	for i := range birds {
		if _, twice := r.add(birds[i].ID); twice { // of a list that came from no studbook
			r.append(birds[i].ID, 0)
		}
	}
	return r
}

// append adds an id behind the others, with its key.
func (r *register) append(id string, key uint64) {
	r.ids, r.keys = append(r.ids, id), append(r.keys, key)
}

// keyOf returns a short id as a number, and 0 for one that is longer than that or has a
// sign 0 in it.
func keyOf(id string) (key uint64) {
	if len(id) > 8 {
		return 0
	}
	for k := range len(id) {
		if id[k] == 0 {
			return 0
		}
		key = key<<8 | uint64(id[k])
	}
	return key
}

// find returns the place of the bird with an id, in the order in which they were
// added.
func (r *register) find(id string) (place int, there bool) {
	_, _, p, there := r.look(numberOf(id), id)
	return int(p), there
}

// look finds an id of a number: the place of its bird, or the slot for it, and its key.
func (r *register) look(number uint64, id string) (key uint64, slot int, place int32, there bool) {
	key = keyOf(id)
	slot, place, there = r.at.find(number, func(place int32) bool {
		return r.keys[place] == key && (key != 0 || r.ids[place] == id)
	})
	return key, slot, place, there
}

// add adds a bird, or returns the place of the one that has the id already.
func (r *register) add(id string) (place int, twice bool) { return r.addNumbered(numberOf(id), id) }

// addNumbered is add of an id whose number is at hand.
func (r *register) addNumbered(number uint64, id string) (place int, twice bool) {
	key, slot, p, twice := r.look(number, id)
	if twice {
		return int(p), true
	}
	place = len(r.ids)
	r.append(id, key)
	r.at.put(slot, number, int32(place), func(place int32) uint64 { return numberOf(r.ids[place]) })
	return place, false
}

// seed is that of the numbers of all texts. It is another in each run, and no order
// hangs on it.
var seed = maphash.MakeSeed()

// numberOf returns the number of a text.
func numberOf(text string) uint64 { return maphash.String(seed, text) }

// plainNumber returns the number of what PlainID has of a text.
func plainNumber(text string) uint64 {
	var short [64]byte
	return maphash.Bytes(seed, appendPlain(short[:0], text))
}

// slots is a table from numbers to places in a list, which tells what has a number:
// open addressing with steps of one, at most half full. A slot has the upper half of
// the number beside the place, so that hardly ever the list is looked at in vain; it is 0
// while it is free.
type slots struct {
	table []uint64
	used  int
}

// newSlots returns a table with room for so many places.
func newSlots(places int) slots {
	n := 16
	for n < 2*places {
		n *= 2
	}
	return slots{table: large[uint64](n)}
}

// find returns the place with a number for which same holds, and else the slot for
// it.
func (s *slots) find(number uint64, same func(place int32) bool) (slot int, place int32, there bool) {
	last := len(s.table) - 1
	for slot = int(number) & last; s.table[slot] != 0; slot = (slot + 1) & last {
		if x := s.table[slot]; x>>32 == number>>32 {
			if place = int32(uint32(x)) - 1; same(place) {
				return slot, place, true
			}
		}
	}
	return slot, 0, false
}

// put puts a place with a number in the free slot that find returned; numberOf is
// that of any place, for when the table grows.
func (s *slots) put(slot int, number uint64, place int32, numberOf func(place int32) uint64) {
	s.table[slot] = number>>32<<32 | uint64(uint32(place+1))
	if s.used++; 2*s.used <= len(s.table) {
		return
	}
	old := s.table
	s.table = large[uint64](2 * len(old))
	for _, x := range old {
		if x != 0 {
			slot, _, _ := s.find(numberOf(int32(uint32(x))-1), func(int32) bool { return false })
			s.table[slot] = x
		}
	}
}
