"""Where things stand: positions, bearings, distances and whether measurements agree (geometry only)."""
