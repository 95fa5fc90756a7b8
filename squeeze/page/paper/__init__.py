"""What the page hands out as files: sheets, pictures, templates."""
