"""What is printed for one athlete: runway drawing, handout, poster, plots."""
