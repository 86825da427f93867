"""The coach's whole day as pages in a browser of the same machine, on the club's book."""
