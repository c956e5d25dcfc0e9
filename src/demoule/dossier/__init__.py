"""dossier."""
