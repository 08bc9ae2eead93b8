package grade

import "skepwood/analytics/wood"

// Board is a board with what is known of its faces.
type Board struct {
	Thickness, Width, Length wood.Length
	Defects                  []Defect
	// Mapped says that someone looked the board over. A mapped board without
	// defects is clear; one not mapped is only not known to be spoiled.
	Mapped bool
}

// Known reports whether the board's defects are known: it was mapped, or
// somebody wrote one down.
func (b Board) Known() bool { return b.Mapped || len(b.Defects) > 0 }

// Rect returns the whole board.
func (b Board) Rect() Rect { return Rect{DX: b.Length, DY: b.Width} }

// Volume returns the board's gross volume at its actual size.
func (b Board) Volume() wood.Volume { return wood.VolumeOf(b.Thickness, b.Width, b.Length) }

// Through reports whether the defect goes through the board, by its face or by
// its depth.
func (b Board) Through(d Defect) bool {
	return d.Face == Both || (d.Depth > 0 && d.Depth >= b.Thickness)
}

// Shows reports whether the defect spoils the given face. For Both it reports
// whether it shows on either.
func (b Board) Shows(d Defect, f Face) bool {
	return f == Both || d.Face == f || b.Through(d)
}
