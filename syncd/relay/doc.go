// Package relay keeps many sites open for those who call, and lets them sleep.
package relay
