package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// asProgram makes the test program the true one, in a process of its own.
const asProgram = "SECONDCUT_TEST_PROGRAM"

// program is the service in a process of its own.
type program struct {
	cmd  *exec.Cmd
	base string // of the JSON interface
}

// startProgram starts the service on the data folder and waits until it listens.
func startProgram(t *testing.T, data string, args ...string) *program {
	t.Helper()
	p := &program{cmd: exec.Command(os.Args[0], append([]string{"serve", "--addr", "127.0.0.1:0", "--data", data}, args...)...)}
	p.cmd.Env = append(os.Environ(), asProgram+"=1")
	p.cmd.Stderr = os.Stderr
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("the service did not start: %v, %v", err, p.cmd.Wait())
	}
	_, rest, _ := strings.Cut(line, " at ")
	p.base = strings.Fields(rest)[0] + "/api/v1"
	return p
}

// kill ends the process as a power cut would, as far as the process can tell.
func (p *program) kill() {
	_ = p.cmd.Process.Kill()
	_ = p.cmd.Wait()
}

// stop ends it as a person does.
func (p *program) stop(t *testing.T) {
	t.Helper()
	_ = p.cmd.Process.Signal(os.Interrupt)
	if err := p.cmd.Wait(); err != nil {
		t.Errorf("the service ended with: %v", err)
	}
}

// request sends one request; an error means that no whole answer came.
func request(ctx context.Context, method, url string, body []byte, headers map[string]string, out any) (status int, answer []byte, err error) {
	ctx, cancel := context.WithTimeout(ctx, 30*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, method, url, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	req.Header.Set("Content-Type", "application/json")
	for name, value := range headers {
		req.Header.Set(name, value)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return 0, nil, err
	}
	defer res.Body.Close()
	if res.StatusCode == http.StatusTooManyRequests { // as a well-behaved client does
		time.Sleep(time.Second)
		return request(ctx, method, url, body, headers, out)
	}
	answer, err = io.ReadAll(res.Body)
	if err == nil && out != nil && res.StatusCode < 300 {
		err = json.Unmarshal(answer, out)
	}
	return res.StatusCode, answer, err
}

// mustRequest sends a request that has to succeed.
func mustRequest(t *testing.T, method, url string, body []byte, headers map[string]string, out any) []byte {
	t.Helper()
	status, answer, err := request(t.Context(), method, url, body, headers, out)
	if err != nil || status >= 300 {
		t.Fatalf("%s %s: status %d, %v: %.300s", method, url, status, err, answer)
	}
	return answer
}

// variants are photos of the same piece whose bytes differ.
func variants(t *testing.T, n int) [][]byte {
	t.Helper()
	f, err := os.Open(demoPhoto)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	canvas := image.NewRGBA(img.Bounds())
	draw.Draw(canvas, canvas.Bounds(), img, img.Bounds().Min, draw.Src)
	out := make([][]byte, n)
	for i := range out {
		draw.Draw(canvas, image.Rect(0, 0, 8, 8), image.NewUniform(color.Gray{Y: uint8(8 * i)}), image.Point{}, draw.Src)
		var b bytes.Buffer
		if err := jpeg.Encode(&b, canvas, &jpeg.Options{Quality: 85}); err != nil {
			t.Fatal(err)
		}
		out[i] = b.Bytes()
	}
	return out
}

func asHeader(version int64) map[string]string {
	return map[string]string{"If-Match": fmt.Sprintf(`"v%d"`, version)}
}
