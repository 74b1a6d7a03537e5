"""What each water point gives, the way it would have been measured or promised. All invented."""

SUPPLIES = {
    # a new ring main
    "quadrangle": dict(static_kpa=560, residual_kpa=480, residual_lpm=320,
                       meter_loss_kpa=25, backflow_loss_kpa=45),
    # a bucket under an old standpipe
    "court-garden": dict(static_kpa=520, bucket_l=60, bucket_s=18.0,
                         meter_loss_kpa=20, backflow_loss_kpa=35),
    # the strong one: a hydrant on the town main
    "great-lawn": dict(static_kpa=640, residual_kpa=565, residual_lpm=520,
                       meter_loss_kpa=30, backflow_loss_kpa=50),
    # the water company promises a flow at a pressure
    "sports-meadow": dict(design_lpm=340, design_kpa=520,
                          meter_loss_kpa=30, backflow_loss_kpa=45),
    "entrance-drive": dict(static_kpa=480, residual_kpa=415, residual_lpm=140,
                           meter_loss_kpa=15, backflow_loss_kpa=30),
    # a pump in the campus well, up at the road; no meter, no drinking water
    "pond-park": dict(pump="0:640, 100:625, 200:590, 300:530, 400:440, 500:310"),
    # the hill rises some 12 m above its hydrant
    "hillside": dict(static_kpa=720, residual_kpa=610, residual_lpm=380,
                     meter_loss_kpa=30, backflow_loss_kpa=50),
    "terraces": dict(static_kpa=590, residual_kpa=500, residual_lpm=240,
                     meter_loss_kpa=25, backflow_loss_kpa=40),
    # the weak one: a long thin service pipe
    "cottage-lawn": dict(static_kpa=320, residual_kpa=270, residual_lpm=60,
                         meter_loss_kpa=10, backflow_loss_kpa=20),
    "triangle-green": dict(static_kpa=450, bucket_l=40, bucket_s=17.5,
                           meter_loss_kpa=15, backflow_loss_kpa=30),
}
