"""A month's job as a hand does it on the pages: counter, desk, fire, mill, papers."""
