"""From a sweep to a response: `analyse` is the recipe, the others its steps; `response` is the result."""
