// Package wood holds what is true of wood whoever owns it: lengths and
// volumes, nominal sizes, species, density, shrinkage and equilibrium
// moisture.
package wood
