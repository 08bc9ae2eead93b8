package yield

import "math"

// product multiplies positive factors and takes one logarithm for many of them,
// before they vanish or overflow: a logarithm for each would take most of the time of a
// large book. Its zero value is no product; begin with newProduct.
type product struct{ log, rest float64 }

func newProduct() product { return product{rest: 1} }

// Factors are up to 1e100 and no smaller than 1e-100, so that one more fits between
// these limits and those of a float.
const productLow, productHigh = 1e-200, 1e200

// times multiplies by x.
func (p *product) times(x float64) {
	p.rest *= x
	if p.rest < productLow || p.rest > productHigh {
		p.fold()
	}
}

// fold takes the logarithm of what has been multiplied since the last. Kept out of
// times, which is small enough for its caller without.
//
//go:noinline
func (p *product) fold() {
	p.log += math.Log(p.rest)
	p.rest = 1
}

// sum is the logarithm of the product.
func (p *product) sum() float64 { return p.log + math.Log(p.rest) }
