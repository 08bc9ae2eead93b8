// Package mark reads what is stamped, branded or tagged on wood: the mark of
// ISPM 15, grade stamps, preservative tags, owners' words.
package mark
