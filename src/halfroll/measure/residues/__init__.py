"""What is left beside the harmonics: scraping, buzz, hum."""
