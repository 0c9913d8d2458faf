"""What is wrong with a unit: from a version's reference and a builder's readings to suspects with probabilities, sizes and the next reading."""
