"""Parsing and checking what clients send: plain values in, plain values out."""
