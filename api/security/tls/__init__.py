"""Encryption on the shop's own network: names, the shop's authority, certificates, live contexts."""
