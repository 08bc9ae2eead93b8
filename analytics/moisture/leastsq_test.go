package moisture_test

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
)

// nistSet is one nonlinear regression data set of the NIST Statistical
// Reference Datasets, with certified values.
type nistSet struct {
	starts        [2][]float64
	certified, sd []float64
	rss           float64
	x, y          []float64
}

// readNIST reads the public-domain .dat layout: parameter lines "b1 = start1
// start2 certified sd", then two columns of data.
func readNIST(t *testing.T, name string) nistSet {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "stats", "nist_nls", name+".dat"))
	require.NoError(t, err)
	defer file.Close()
	var s nistSet
	scanner := bufio.NewScanner(file)
	for line := 1; scanner.Scan(); line++ {
		text := scanner.Text()
		fields := strings.Fields(text)
		switch {
		case len(fields) == 6 && strings.HasPrefix(fields[0], "b") && fields[1] == "=":
			v := floats(t, fields[2:])
			s.starts[0], s.starts[1] = append(s.starts[0], v[0]), append(s.starts[1], v[1])
			s.certified, s.sd = append(s.certified, v[2]), append(s.sd, v[3])
		case strings.HasPrefix(text, "Residual Sum of Squares"):
			s.rss = floats(t, fields[len(fields)-1:])[0]
		case line > 60 && len(fields) == 2 && fields[0] != "Data:":
			v := floats(t, fields)
			s.y, s.x = append(s.y, v[0]), append(s.x, v[1])
		}
	}
	require.NoError(t, scanner.Err())
	return s
}

func floats(t *testing.T, fields []string) []float64 {
	t.Helper()
	out := make([]float64, len(fields))
	for i, f := range fields {
		v, err := strconv.ParseFloat(f, 64)
		require.NoError(t, err)
		out[i] = v
	}
	return out
}

// nistModels are the models as printed in the files.
var nistModels = map[string]func(b []float64, x float64) float64{
	"Misra1a":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"Chwirut2": func(b []float64, x float64) float64 { return math.Exp(-b[0]*x) / (b[1] + b[2]*x) },
	"DanWood":  func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
	"Lanczos3": func(b []float64, x float64) float64 {
		return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-b[3]*x) + b[4]*math.Exp(-b[5]*x)
	},
}

func TestLeastSquaresReachesCertifiedValues(t *testing.T) {
	t.Parallel()
	for name, model := range nistModels {
		set := readNIST(t, name)
		require.NotEmpty(t, set.x)
		for i, start := range set.starts {
			t.Run(name+" from start "+strconv.Itoa(i+1), func(t *testing.T) {
				t.Parallel()
				got, err := moisture.LeastSquares(moisture.Problem{
					N: len(set.x),
					Residuals: func(p, r []float64) {
						for i, x := range set.x {
							r[i] = set.y[i] - model(p, x)
						}
					},
				}, start)
				require.NoError(t, err)
				require.InEpsilonSlice(t, set.certified, got.P, 1e-6)
				require.InEpsilonSlice(t, set.sd, got.SD, 1e-5)
				require.InEpsilon(t, set.rss, got.RSS, 1e-6)
			})
		}
	}
}
