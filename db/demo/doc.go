// Package demo writes the log of an invented club: fourteen months, nine
// sources of different character, everything drawn from one seed and dated
// relative to the day it runs. Nothing in it is a fact about the world.
//
// # Truths of the generator
//
// Each [place] carries what the book has to find out: how often a drive comes
// home empty, how much wood a good drive brings (log-normal around a median),
// how many miles and minutes it takes, and what the wood is. In short:
//
//	Quillmoss Tile         crates with readable HT marks, soft pine; near; the best drive.
//	                       Every ninth lot carries MB: fumigated.
//	Brindlewick Print      clean unmarked pallets of a known shipper; small and steady.
//	Tarn & Thimble Brewery oak pallets, HT; a third are a rental pool's: not ours to take.
//	Oxlip Pianos           wide clear spruce crates, four drives in ten empty, far away.
//	Copperfen Electric     crates with plywood; one lot hid a treated deck board (CCA).
//	Meadowsnare Feed       feed and fertiliser pallets: held or never.
//	Larkspindle Hardware   mixed pallets, marks half worn: much on hold.
//	Fernquay Garden Centre good until last spring, then blue-green soaked and musty.
//	Mothlight Machines     heavy dunnage, oil stains; far; rarely worth it.
//
// One stack of the wet winter (boards of the first December) starts at 30
// percent under a roof where it can only dry towards 16; all others start
// between 14 and 22 and dry towards 11, at 2 to 6 percent of the difference a
// day. Meter noise has a standard deviation of 0.7 percent.
package demo
