"""Where map and profile meet: which output frame shows which film frame, exactly."""
