package yield

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"
)

//go:embed mileage.csv
var mileageCSV string

var mileageRates = sync.OnceValues(func() (Schedule, error) { return parseMileage(mileageCSV) })

// StandardMileage returns the standard mileage rates of the United States for
// business from 2022 on, in cents a mile by date; each row of mileage.csv names its
// source. They stand in for what a mile costs to run and are no tax advice. The
// schedule is the caller's own.
func StandardMileage() Schedule {
	rates, err := mileageRates()
	if err != nil {
		panic(err) // the embedded table is read by a test
	}
	return append(Schedule(nil), rates...)
}

// parseMileage reads the table; only its first two columns are figures.
func parseMileage(text string) (Schedule, error) {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("mileage.csv: %w", err)
	}
	var s Schedule
	for _, row := range rows[1:] {
		from, err := time.Parse(time.DateOnly, row[0])
		if err != nil {
			return nil, fmt.Errorf("mileage.csv: %w", err)
		}
		cents, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			return nil, fmt.Errorf("mileage.csv: %w", err)
		}
		s = append(s, Rate{From: from, Minor: cents, Currency: "USD"})
	}
	return s, nil
}
