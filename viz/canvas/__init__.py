"""What all pictures stand on: sheets, frames, legends, contours, levels, true north."""
