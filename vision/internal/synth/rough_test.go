package synth_test

import (
	"bytes"
	"testing"

	"secondcut/vision"
	"secondcut/vision/internal/synth"
)

// The series holds what it promises: sizes, numbers, reasons, nothing on nothing.
func TestRoughSeries(t *testing.T) {
	cards, pieces, refused, curled, scraps, holes := map[int]bool{}, map[int]bool{}, 0, 0, 0, 0
	for seed := uint64(1); seed <= 150; seed++ {
		s := synth.Rough(seed, 800, 600)
		cards[len(s.Cards)] = true
		pieces[len(s.Pieces)] = true
		scraps += len(s.Scraps)
		for i, c := range s.Cards {
			if c.LiftMM > 0 {
				curled++
			}
			for _, o := range s.Cards[:i] {
				// Half the diagonals of two cards, or the sides of two on a sheet.
				d := o.Centre.Dist(c.Centre)
				if d < 79.99 || d < 113.2 && o.TurnDeg != c.TurnDeg {
					t.Errorf("scene %d: cards %d and %d overlap", seed, o.ID, c.ID)
				}
			}
		}
		if s.Refuse != "" {
			refused++
			continue
		}
		for _, px := range []vision.Pixel{{}, {X: 799}, {Y: 599}, {X: 799, Y: 599}} {
			if _, ok := s.Camera.Plane(px, 0); !ok {
				t.Errorf("scene %d: nothing is seen in the photo's corner %v", seed, px)
			}
		}
		for _, p := range s.Pieces {
			ring := p.Path.Flatten(0.5)
			for _, h := range p.Holes {
				holes++
				if opening := h.Flatten(0.5); opening.Area() >= 0 || !ring.Contains(opening[0]) {
					t.Errorf("scene %d: a hole of %s runs the wrong way or lies outside", seed, p.Name)
				}
			}
			if ring.Area() <= 0 {
				t.Errorf("scene %d: %s runs clockwise", seed, p.Name)
			}
			for _, q := range ring {
				if px, ok := s.Camera.Project(q, 0); !ok || px.X < 0 || px.Y < 0 || px.X > 799 || px.Y > 599 {
					t.Errorf("scene %d: %s leaves the photo at %v", seed, p.Name, q)
					break
				}
			}
		}
	}
	for _, n := range []int{1, 2, 3, 4, 5, 6, 8} {
		if !cards[n] {
			t.Errorf("no scene with %d cards", n)
		}
	}
	if !pieces[1] || !pieces[2] || !pieces[3] || refused != 6 || curled == 0 || scraps == 0 || holes == 0 {
		t.Errorf("pieces %v, %d to refuse, %d curled cards, %d scraps, %d holes", pieces, refused, curled, scraps, holes)
	}
}

// A smear across spreads a vertical edge over its length and leaves a level one.
func TestSmear(t *testing.T) {
	s := bare()
	s.Pieces = []synth.Piece{{Path: disc(40), Cloth: synth.Plain(synth.Colour{0.9, 0.9, 0.9})}}
	sharp := mustRender(t, s)
	s.SmearPx.X = 8
	across := mustRender(t, s)
	if bytes.Equal(sharp.BGR, across.BGR) {
		t.Fatal("the smear changed nothing")
	}
	if a, b := steepest(sharp, 1, 0), steepest(across, 1, 0); 2*b > a {
		t.Errorf("across, the steepest step fell from %d to %d only", a, b)
	}
	if a, b := steepest(sharp, 0, 1), steepest(across, 0, 1); b < 3*a/4 {
		t.Errorf("down, the steepest step fell from %d to %d", a, b)
	}
}

// steepest returns the largest step between neighbours dx, dy apart.
func steepest(p *vision.Photo, dx, dy int) (best int) {
	for y := range p.Height - 1 {
		for x := range p.Width - 1 {
			a, b := int(p.BGR[(y*p.Width+x)*3]), int(p.BGR[((y+dy)*p.Width+x+dx)*3])
			best = max(best, a-b, b-a)
		}
	}
	return best
}

// A nick at the very start of an outline takes nothing out of the middle.
func TestNickAtTheStart(t *testing.T) {
	s := bare()
	p := synth.Piece{Path: disc(40), Cloth: synth.Plain(synth.Colour{0.9, 0.9, 0.9})}
	s.Pieces = []synth.Piece{p}
	whole := mustRender(t, s)
	s.Pieces[0].Edge.Nicks = []synth.Nick{{Along: 1e-5, DepthMM: 6, WidthMM: 3}}
	nicked := mustRender(t, s)
	changed := 0
	for i := range whole.BGR {
		if whole.BGR[i] != nicked.BGR[i] {
			changed++
		}
	}
	// The nick's triangle of 9 mm2 at 3 px/mm, three colours, and its rim.
	if changed == 0 || changed > 2*9*9*3 {
		t.Errorf("%d values changed", changed)
	}
}

// Things lie where the truth says, in the photo's colours, and cover no card.
func TestThingsLieAbout(t *testing.T) {
	names := map[string]int{}
	for seed := range uint64(12) {
		s := synth.Cluttered(seed+1, 600, 450)
		truth := s.Truth("x.jpg")
		if len(truth.Things) != len(s.Things) || s.Refuse != "" {
			t.Fatalf("scene %d: %d things, %d in the truth, refuse %q", seed, len(s.Things), len(truth.Things), s.Refuse)
		}
		for _, thing := range truth.Things {
			names[thing.Name]++
			if thing.GapMM < -25 || thing.GapMM > 60 {
				t.Errorf("scene %d: %s lies %.0f mm from the cloth", seed, thing.Name, thing.GapMM)
			}
			for _, part := range thing.Parts {
				for _, c := range s.Cards {
					if part.Contains(c.Centre) {
						t.Errorf("scene %d: %s covers card %d", seed, thing.Name, c.ID)
					}
				}
			}
		}
	}
	if len(names) < 4 {
		t.Errorf("only %v", names)
	}
	s := synth.Cluttered(1, 600, 450)
	with := mustRender(t, s)
	s.Things = nil
	if without := mustRender(t, s); bytes.Equal(with.BGR, without.BGR) {
		t.Error("nothing is to be seen of them")
	}
}
