"""What others send, read and checked: plain values in, plain values out."""
