package rest

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"secondcut/api"
)

// metrics counts for Prometheus. Nothing in it says who or what.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.HistogramVec
}

// working is what a queue may tell about itself.
type working interface {
	Running() int
	Ended() map[api.JobStatus]int
}

func newMetrics(s *service) *metrics {
	m := &metrics{registry: prometheus.NewRegistry()}
	m.requests = prometheus.NewHistogramVec(prometheus.HistogramOpts{
		Name: "secondcut_request_seconds", Help: "Time to answer a request, by route.",
		Buckets: []float64{.005, .01, .025, .05, .1, .25, .5, 1, 2.5, 10, 60},
	}, []string{"method", "route", "status"})
	gauge := func(name, help string, value func() float64) prometheus.Collector {
		return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: name, Help: help}, value)
	}
	usage := func(pick func(api.Usage) float64) func() float64 {
		return func() float64 {
			u, err := s.everything.Usage(context.Background())
			if err != nil {
				return -1
			}
			return pick(u)
		}
	}
	m.registry.MustRegister(m.requests, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
		gauge("secondcut_jobs_queued", "Jobs that wait.", usage(func(u api.Usage) float64 { return float64(u.QueuedJobs) })),
		gauge("secondcut_picture_bytes", "What the pictures take, and uploads that are under way will.", usage(func(u api.Usage) float64 { return float64(u.PictureBytes) })),
		gauge("secondcut_free_bytes", "What the disk has left.", usage(func(u api.Usage) float64 { return float64(u.FreeBytes) })))
	if q, ok := s.working.(working); ok {
		m.registry.MustRegister(gauge("secondcut_jobs_running", "Jobs that are running.", func() float64 { return float64(q.Running()) }))
		for _, status := range []api.JobStatus{api.JobDone, api.JobRefused, api.JobFailed} {
			m.registry.MustRegister(prometheus.NewCounterFunc(prometheus.CounterOpts{
				Name: "secondcut_jobs_ended_total", Help: "Jobs that have ended since the start.", ConstLabels: prometheus.Labels{"status": string(status)},
			}, func() float64 { return float64(q.Ended()[status]) }))
		}
	}
	return m
}

// observe counts a request. Each label costs memory.
func (m *metrics) observe(method, route string, status int, took time.Duration) {
	m.requests.WithLabelValues(method, route, strconv.Itoa(status)).Observe(took.Seconds())
}

func (m *metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// readyTime is how long the store may take to show that it works.
const readyTime = 2 * time.Second

// ready says whether requests can be served: the database answers and the pictures
// can be written to. /healthz only says that the process runs.
func (s *service) ready(c *gin.Context) {
	ctx, cancel := context.WithTimeout(c.Request.Context(), readyTime)
	defer cancel()
	if err := s.Store.Ready(ctx); err != nil {
		s.refuse(c, api.Unavailable(err))
		return
	}
	c.String(http.StatusOK, "ready\n")
}
