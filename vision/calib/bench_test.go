package calib

import (
	"context"
	"math/rand/v2"
	"os"
	"testing"

	"secondcut/vision"
	"secondcut/vision/card"
)

// The steps between a photo and its plane, on a photo of 12 MP.
func BenchmarkSteps(b *testing.B) {
	ctx := context.Background()
	data, err := os.ReadFile("../../testdata/photos/d1_plain_on_paper.jpg")
	if err != nil {
		b.Fatal(err)
	}
	p, err := vision.Decode(ctx, data, vision.Limits{})
	if err != nil {
		b.Fatal(err)
	}
	dets, err := card.Detect(ctx, p)
	if err != nil {
		b.Fatal(err)
	}
	c, _, err := Solve(p, dets, Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Run("decode", func(b *testing.B) {
		for b.Loop() {
			_, _ = vision.Decode(ctx, data, vision.Limits{})
		}
	})
	b.Run("detect", func(b *testing.B) {
		for b.Loop() {
			_, _ = card.Detect(ctx, p)
		}
	})
	b.Run("solve", func(b *testing.B) {
		for b.Loop() {
			_, _, _ = Solve(p, dets, Options{})
		}
	})
	b.Run("rectify", func(b *testing.B) {
		for b.Loop() {
			_, _ = c.Rectify(ctx, p, 1, RectifyOptions{})
		}
	})
}

// One solve, by number of cards.
func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{1, 2, 4, 6} {
		rng := rand.New(rand.NewPCG(1, 1))
		s := newScene(rng, 600, n, scatter{focal: 0.02, k1: 0.02, k2: 0.01})
		dets := s.detections(rng, 0.05)
		b.Run(string(rune('0'+n))+" cards", func(b *testing.B) {
			for b.Loop() {
				_, _, _ = Solve(&s.photo, dets, Options{})
			}
		})
	}
}
