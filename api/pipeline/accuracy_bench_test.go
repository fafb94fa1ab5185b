package pipeline_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"secondcut/api/pipeline"
	"secondcut/vision"
)

const benchPhoto = "../../testdata/photos/d1_plain_on_paper.jpg" // 12 megapixels

// openCVDecode is how many times as long as the decoder here OpenCV's takes for the
// same JPEG (cv2.imread of OpenCV 4.6 against vision.Decode, which asks for large
// pages; processor time of six photos of 12 megapixels, twice, on a busy machine: 2.7
// to 5.9, of which the least is taken): the goal of six times the decoding is meant
// by OpenCV's, and multiples of "the decoding" are given by it.
const openCVDecode = 2.7

// BenchmarkTrace measures a photo from file to path in processor time, as a
// multiple of decoding the same file, step by step.
func BenchmarkTrace(b *testing.B) {
	data, err := os.ReadFile(benchPhoto)
	if err != nil {
		b.Fatal(err)
	}
	var decode time.Duration
	spent := map[string]time.Duration{}
	for b.Loop() {
		start := cpu()
		if _, err := vision.Decode(b.Context(), data, vision.Limits{}); err != nil {
			b.Fatal(err)
		}
		decode += cpu() - start
		start = cpu()
		step := ""
		count := func(name string) {
			now := cpu()
			spent[step] += now - start
			step, start = name, now
		}
		s, err := pipeline.Open(b.Context(), data, pipeline.Options{}, func(s pipeline.Step) { count(s.Name) })
		if err != nil {
			b.Fatal(err)
		}
		if _, err := s.Trace(b.Context(), nil, func(s pipeline.Step) { count(s.Name) }); err != nil {
			b.Fatal(err)
		}
		count("")
	}
	var all time.Duration
	for name, d := range spent {
		all += d
		if name != "" {
			b.ReportMetric(float64(d)/float64(decode)/openCVDecode, name+"-x-decode")
		}
	}
	b.ReportMetric(float64(all)/float64(decode)/openCVDecode, "x-decode")
	b.ReportMetric(decode.Seconds()*1000/float64(b.N), "decode-cpu-ms")
}

// BenchmarkRefit measures the slider "how smooth".
func BenchmarkRefit(b *testing.B) {
	data, err := os.ReadFile(benchPhoto)
	if err != nil {
		b.Fatal(err)
	}
	s, err := pipeline.Open(b.Context(), data, pipeline.Options{}, nil)
	if err == nil {
		_, err = s.Trace(b.Context(), nil, nil)
	}
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := s.Refit(b.Context(), 0.5); err != nil {
			b.Fatal(err)
		}
	}
}

// childPhoto names the photo that a child process is to trace.
const childPhoto = "SECONDCUT_TEST_CHILD_PHOTO"

// TestTraceAsChild does nothing unless peak started it.
func TestTraceAsChild(t *testing.T) {
	file := os.Getenv(childPhoto)
	if file == "" {
		t.Skip("a child of the memory benchmark")
	}
	data, err := os.ReadFile(file)
	if err == nil {
		_, err = trace(t, data)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// peak traces the photo in a process of its own and returns the most memory that
// it held by the operating system's account, bytes.
func peak(ctx context.Context, file string) (int64, error) {
	cmd := exec.CommandContext(ctx, os.Args[0], "-test.run=^TestTraceAsChild$")
	cmd.Env = append(os.Environ(), childPhoto+"="+file)
	if err := cmd.Run(); err != nil {
		return 0, err
	}
	return cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss * 1024, nil
}

// BenchmarkMemory reports the peak of tracing 12 megapixels, and 48.
func BenchmarkMemory(b *testing.B) {
	data, err := os.ReadFile(benchPhoto)
	if err != nil {
		b.Fatal(err)
	}
	big := filepath.Join(b.TempDir(), "48mp.jpg")
	if err := os.WriteFile(big, doubled(b, data), 0o600); err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name, file string
		limitMiB   float64
	}{{"12MP", benchPhoto, 400}, {"48MP", big, 1.2 * 1024}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				n, err := peak(b.Context(), c.file)
				if err != nil {
					b.Fatal(err)
				}
				mib := float64(n) / (1 << 20)
				b.ReportMetric(mib, "peak-MiB")
				if mib > c.limitMiB {
					b.Errorf("peak of %.0f MiB, at most %.0f wanted", mib, c.limitMiB)
				}
			}
		})
	}
}

// doubled returns the photo with each pixel twice as wide and high.
func doubled(b testing.TB, data []byte) []byte {
	p, err := vision.Decode(b.Context(), data, vision.Limits{})
	if err != nil {
		b.Fatal(err)
	}
	big := &vision.Photo{Width: 2 * p.Width, Height: 2 * p.Height, BGR: make([]byte, 4*len(p.BGR))}
	for y := range big.Height {
		for x := range big.Width {
			copy(big.BGR[(y*big.Width+x)*3:][:3], p.BGR[((y/2)*p.Width+x/2)*3:])
		}
	}
	out, err := vision.EncodeJPEG(big, 90)
	if err != nil {
		b.Fatal(err)
	}
	return out
}
