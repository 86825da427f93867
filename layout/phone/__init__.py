"""What is sent: the handout as one page for a telephone."""
