"""Collections in and out: folders, spreadsheets, archives, passports, descriptors."""
