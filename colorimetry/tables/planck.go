//go:build ignore

package main

import "math"

// The locus is tabulated at even steps of reciprocal temperature, a little
// beyond both ends of the domain of 10 to 1000 mired.
const (
	firstMired = 5
	stepMired  = 5
	nodeCount  = 201
)

// locusNode is u, v and their first and second derivatives by mired, in the
// order u, v, u′, v′, u″, v″.
type locusNode [6]float64

// planckNode integrates Planck's law and its derivatives by reciprocal
// temperature against the observer (rows X, Y, Z; 1 nm from 360 nm).
func planckNode(mired float64, observer matrix) locusNode {
	const c2 = 1.4388e-2
	var sum [3][3]float64 // derivative, then X Y Z
	for i := range observer.columns {
		lambda := float64(360+i) * 1e-9
		k := c2 * 1e-6 / lambda
		e := math.Exp(k * mired)
		m := math.Pow(560e-9/lambda, 5) / (e - 1)
		d := [3]float64{m, -m * k * e / (e - 1), m * k * k * e * (e + 1) / ((e - 1) * (e - 1))}
		for j := range 3 {
			for n := range 3 {
				sum[n][j] += d[n] * observer.at(j, i)
			}
		}
	}
	var u, v, w [3]float64
	for n := range 3 {
		u[n] = 4 * sum[n][0]
		v[n] = 6 * sum[n][1]
		w[n] = sum[n][0] + 15*sum[n][1] + 3*sum[n][2]
	}
	qu, qv := quotient(u, w), quotient(v, w)
	return locusNode{qu[0], qv[0], qu[1], qv[1], qu[2], qv[2]}
}

// quotient returns a/b and its first two derivatives.
func quotient(a, b [3]float64) [3]float64 {
	q := a[0] / b[0]
	q1 := (a[1] - q*b[1]) / b[0]
	return [3]float64{q, q1, (a[2] - 2*q1*b[1] - q*b[2]) / b[0]}
}
