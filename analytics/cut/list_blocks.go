package cut

// blockSize is how many values a block holds.
const blockSize = 1024

// blocks is a list that grows without moving what it holds: one slice that is
// grown again and again asks for several times what it needs in the end.
type blocks[T any] struct {
	all [][]T
	n   int32
}

// add puts v at the end and returns its place.
func (b *blocks[T]) add(v T) int32 {
	last := len(b.all) - 1
	if b.n%blockSize == 0 {
		room := 0 // many lists stay short
		if last >= 0 {
			room = blockSize
		}
		b.all = append(b.all, make([]T, 0, room))
		last++
	}
	b.all[last] = append(b.all[last], v)
	b.n++
	return b.n - 1
}

// at returns the value at a place.
func (b *blocks[T]) at(i int32) *T { return &b.all[uint32(i)/blockSize][uint32(i)%blockSize] }
