"""Where the nursery lies and what the year brings there: sun, frost and public holidays."""
