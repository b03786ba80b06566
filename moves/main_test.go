package moves_test

import (
	"testing"

	"loopdraft/smf/oracle"
)

func TestMain(m *testing.M) { oracle.Main(m) }
