"""The coach's own picture: points, camera, measures, beside the target."""
