"""Sites, samples, tests and kept readings as plain values; no screen, no disk, no clock."""
