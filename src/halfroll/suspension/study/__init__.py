"""What a suspension does for a driver: over its travel, sideways, in resonance, under the moving mass."""
