package screen

import "fmt"

// rise tests whether the bad days lie late.
func rise(days []bool, alpha float64) RiskRise {
	r := RiskRise{Days: len(days), P: 1, Test: riskTest}
	sum := 0
	for i, bad := range days {
		if bad {
			r.BadDays++
			sum += i + 1
		}
	}
	if r.BadDays == 0 || r.BadDays == r.Days {
		r.Text = r.nothingToOrder()
		return r
	}
	tail := rankSumTail(r.Days, r.BadDays)
	r.P = tail[sum]
	for _, p := range tail {
		if p <= alpha {
			r.FalseAlarm = max(r.FalseAlarm, p)
		}
	}
	r.Risen = r.P <= alpha
	r.Text = r.sentence()
	return r
}

// rankSumTail gives, for each sum s, the chance that k of the ranks 1 to n drawn
// without order add up to s or more. It counts subsets by the usual recursion
// on the largest rank, in floating point: the counts of subsets are divided by
// the number of all subsets as they are built, so they stay between 0 and 1.
func rankSumTail(n, k int) []float64 {
	most := k * (2*n - k + 1) / 2
	// chance[j][s] is the share of orders with j bad days so far and sum s.
	chance := make([][]float64, k+1)
	for j := range chance {
		chance[j] = make([]float64, most+1)
	}
	chance[0][0] = 1
	for rank := 1; rank <= n; rank++ {
		// Drawing the days one by one, day `rank` is bad with chance
		// (k-j)/(n-rank+1) when j of the earlier ones are.
		for j := min(k, rank-1); j >= 0; j-- {
			left := float64(n - rank + 1)
			isBad := max(0, float64(k-j)) / left
			for s := most; s >= 0; s-- {
				p := chance[j][s]
				if p == 0 {
					continue
				}
				if j < k && s+rank <= most {
					chance[j+1][s+rank] += p * isBad
				}
				chance[j][s] = p * (1 - isBad)
			}
		}
	}
	tail := make([]float64, most+1)
	total := 0.0
	for s := most; s >= 0; s-- {
		total += chance[k][s]
		tail[s] = min(1, total)
	}
	return tail
}

// nothingToOrder says why a source with only good or only bad days, or none,
// cannot show a rise.
func (r *RiskRise) nothingToOrder() string {
	switch {
	case r.Days == 0:
		return "No lots that may be taken yet, so nothing can be said."
	case r.BadDays == 0:
		return fmt.Sprintf("No bad day in %d, so there is no rise to test.", r.Days)
	default:
		return fmt.Sprintf("Every one of %d days was bad: this source is risky, but not rising.", r.Days)
	}
}

// sentence says the outcome with its chance of a false alarm.
func (r *RiskRise) sentence() string {
	counted := fmt.Sprintf("%d of %d days brought held or barred wood", r.BadDays, r.Days)
	switch {
	case r.FalseAlarm == 0:
		return counted + "; too few days to tell a rise from chance."
	case r.Risen:
		return fmt.Sprintf("%s, and the bad days lie late: risk has risen (p = %.3f). Looked at once, a source that never changed is flagged in %.1f of 100 cases; looked at after every trip, in more.", counted, r.P, 100*r.FalseAlarm)
	default:
		return fmt.Sprintf("%s; no rise shown (p = %.3f).", counted, r.P)
	}
}
