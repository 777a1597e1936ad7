"""What a section is: parts, spaces, levels, and the moving front that makes them."""
