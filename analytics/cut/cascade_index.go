package cut

// partialIndex finds combinations by what they make of some rows.
type partialIndex struct {
	keys  []uint64
	heads []int32 // 1 + the first combination with the key, 0 for none
	next  []int32 // the next with the same key, -1 for none
	order []int32
	mask  uint64
}

// clear makes room for n keys.
func (x *partialIndex) clear(n int) {
	size := 1024
	for size < 2*n {
		size *= 2
	}
	if len(x.heads) < size {
		x.heads, x.keys = make([]int32, size), make([]uint64, size)
	}
	x.mask = uint64(size - 1)
	clear(x.heads[:size])
}

// place returns where a key is or would be.
func (x *partialIndex) place(key uint64) uint64 {
	at := key >> 20 & x.mask
	for x.heads[at] != 0 && x.keys[at] != key {
		at = (at + 1) & x.mask
	}
	return at
}

// add notes a key and reports whether it is new.
func (x *partialIndex) add(key uint64, i int32) bool {
	at := x.place(key)
	if x.heads[at] != 0 {
		return false
	}
	x.keys[at], x.heads[at] = key, i+1
	return true
}

// fill indexes a list, which is in order of loss, by the rows of a span;
// combinations that make the same of them stay in order.
func (x *partialIndex) fill(list []partial, span *mark) {
	x.clear(len(list))
	if cap(x.next) < len(list) {
		x.next = make([]int32, 2*len(list))
	}
	x.next = x.next[:len(list)]
	for i := len(list) - 1; i >= 0; i-- {
		key := list[i].mark.key(span)
		at := x.place(key)
		x.next[i] = x.heads[at] - 1
		x.keys[at], x.heads[at] = key, int32(i+1)
	}
}

// find returns the first combination with a key, -1 for none.
func (x *partialIndex) find(key uint64) int32 { return x.heads[x.place(key)] - 1 }

// byLoss returns the places of a list in order of loss.
func (x *partialIndex) byLoss(list []partial) []int32 {
	var first [lossUnits + 2]int32
	for i := range list {
		first[list[i].loss+1]++
	}
	for i := range lossUnits + 1 {
		first[i+1] += first[i]
	}
	if cap(x.order) < len(list) {
		x.order = make([]int32, 2*len(list))
	}
	order := x.order[:len(list)]
	for i := range list {
		l := list[i].loss
		order[first[l]] = int32(i)
		first[l]++
	}
	return order
}
