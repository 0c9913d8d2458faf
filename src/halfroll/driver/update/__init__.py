"""What measurements say of the assumptions a prediction rests on."""
