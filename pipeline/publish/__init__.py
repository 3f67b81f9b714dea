"""From a notebook to a page. Knows nothing of sport."""
