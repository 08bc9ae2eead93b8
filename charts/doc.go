// Package charts draws what the book knows as pictures: SVG for the screen,
// PNG for paper and post.
//
// A picture is a plain struct of labels and numbers; [Render] turns it into
// bytes in a given width, light or dark. There is no clock, no SQL and no
// global state here: equal input gives equal bytes.
//
//	svg, err := charts.Render(charts.Yields{Unit: "board feet a drive", Rows: rows},
//		charts.SVG, charts.Style{Width: 358, Theme: charts.Dark})
//
// Every picture says in words what it shows ([Picture.Words]); a picture
// without data says so instead of drawing empty axes. Numbers that are not
// finite, or too large for an axis, are left out and counted in words.
//
// Verdicts are told apart by shape and pattern before colour, so that a grey
// print keeps them apart. Hues are those of Okabe M, Ito K, Color universal
// design: how to make figures and presentations that are friendly to colorblind
// people, 2008, darkened or lightened to stand out on each ground.
package charts
