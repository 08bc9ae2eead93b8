// Package server is the book's face: pages that work without scripts, charts
// at their own addresses, spreadsheets in and out. What a person types is
// parsed here and nowhere else, through the columns that package db describes.
//
// A handler returns an error; one adapter ([app.handle]) logs it, chooses the
// status and shows the page, so that no failure leaves half a page behind.
// Every page has its own typed struct that embeds [base], and one template
// file. Files are named noun_verb.go after what a person does.
package server
