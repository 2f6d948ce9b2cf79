"""What Prometheus asks for: is the watch at work, do messages leave, what is asked of the web. Nobody is named."""
