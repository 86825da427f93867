"""The body: segments, poses, where the foot lands, its outline as shapes."""
