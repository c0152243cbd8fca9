"""Names for the kernel's key codes: those that pedals, page turners and small keyboards send.

The numbers are the KEY_ and BTN_ constants of Linux's input-event-codes.h (seen), the names those
constants in lower case, without KEY_.
"""

_IN_ROWS = (
    (1, "esc 1 2 3 4 5 6 7 8 9 0 minus equal backspace tab"),
    (16, "q w e r t y u i o p leftbrace rightbrace enter leftctrl"),
    (30, "a s d f g h j k l semicolon apostrophe grave leftshift backslash"),
    (44, "z x c v b n m comma dot slash rightshift kpasterisk leftalt space capslock"),
    (59, "f1 f2 f3 f4 f5 f6 f7 f8 f9 f10 numlock scrolllock"),
    (71, "kp7 kp8 kp9 kpminus kp4 kp5 kp6 kpplus kp1 kp2 kp3 kp0 kpdot"),
    (87, "f11 f12"),
    (96, "kpenter rightctrl kpslash sysrq rightalt linefeed"),
    (102, "home up pageup left right end down pagedown insert delete"),
    (113, "mute volumedown volumeup power"),
    (125, "leftmeta rightmeta compose stop"),
    (158, "back forward"),
    (163, "nextsong playpause previoussong stopcd"),
    (177, "scrollup scrolldown"),
    (183, "f13 f14 f15 f16 f17 f18 f19 f20 f21 f22 f23 f24"),
    (207, "play"),
    (212, "camera"),
    (256, "btn_0 btn_1 btn_2 btn_3 btn_4 btn_5 btn_6 btn_7 btn_8 btn_9"),
    (272, "btn_left btn_right btn_middle btn_side btn_extra btn_forward btn_back btn_task"),
    (288, "btn_trigger btn_thumb btn_thumb2 btn_top btn_top2 btn_pinkie btn_base btn_base2"),
    (304, "btn_south btn_east btn_c btn_north btn_west btn_z btn_tl btn_tr btn_tl2 btn_tr2"),
    (407, "next"),
    (412, "previous"),
)

NAMES: dict[int, str] = {
    first + place: name for first, names in _IN_ROWS for place, name in enumerate(names.split())
}


def name_of(code: int) -> str:
    """The name of a key, such as "pagedown"; "#704" where the table has none."""
    return NAMES.get(code, f"#{code}")
