package jobs_test

import (
	"testing"

	"secondcut/api/store/storetest"
)

func TestMain(m *testing.M) { storetest.Main(m) }
