"""Problems of heat whose figures a publication or an exact solution gives, over the real solver."""
