module pairwalk

go 1.26.0

require github.com/oklog/ulid/v2 v2.1.1 // indirect
