"""Plumbing every app stands on: refusals, row locks, repeat-safe requests, REST manners. No rule of the water."""
