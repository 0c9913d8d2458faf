"""The driver as a lumped model: small signal in closed form, large signal by time steps, and what a microphone would hear."""
