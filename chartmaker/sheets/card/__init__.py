"""The yarn card on paper."""
