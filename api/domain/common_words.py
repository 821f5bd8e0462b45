"""The words that the commonest passwords are made of, in lower case and without digits."""

WORDS = frozenset(
    """
    password passwort passwd pass passw passcode passphrase secret secrets geheim hidden private
    admin administrator root user username guest login logon signin welcome willkommen default
    changeme change letmein letme iloveyou loveyou love lover lovers lovely loveme mylove amour
    qwerty qwertz azerty qwert asdf asdfgh asdfghjkl zxcv zxcvbn zxcvbnm qazwsx qaz wsx qweasd
    qweasdzxc abc abcd abcde abcdef aaa xxx xyz test tests tester testing testtest temp
    temporary demo sample example master masters monkey monkeys dragon dragons shadow shadows
    sunshine princess prince football fussball baseball basketball hockey soccer tennis golf
    golfer rugby cricket volleyball superhero wizard merlin magic magician phoenix falcon eagle
    eagles hawk tiger tigers lion lions panther cougar jaguar leopard bear bears wolf wolves fox
    horse horses cowboy cowboys ranger rangers raider raiders pirate pirates viking vikings
    warrior warriors knight knights ninja samurai soldier marine marines army navy police killer
    hunter hunting fishing fisher sniper shooter gunner bullet whatever nothing something
    anything everything nobody somebody forever never always hello hallo hi bonjour hola ciao
    goodbye bye please thanks thankyou sorry computer internet network server system systems
    windows desktop laptop keyboard monitor printer software hardware program programmer hacker
    access backup database phone mobile tablet camera video music guitar piano drummer dancer
    singer rocknroll hiphop jazz blues punk metal rock techno disco summer winter spring autumn
    sommer herbst fruehling january february march april may june july august september october
    november december monday tuesday wednesday thursday friday saturday sunday montag freitag
    birthday christmas easter holiday holidays vacation weekend party red blue green yellow
    orange purple pink black white silver gold golden brown grey gray banana apple cherry lemon
    peach melon strawberry cookie cookies chocolate candy sugar honey pepper ginger coffee
    cheese butter pizza burger chicken turkey bacon potato tomato flower flowers rose roses lily
    daisy violet jasmine garden forest mountain river ocean beach island diamond crystal angel
    angels heaven devil demon god church faith hope trust freedom peace justice liberty victory
    winner champion champions legend hero money rich dollar dollars euro cash business office
    work worker company manager boss director mother father mama papa mommy daddy brother sister
    baby babygirl babyboy family friend friends michael jennifer jessica ashley daniel andrew
    joshua matthew thomas robert william charlie george jordan maggie buster bailey thunder
    lightning storm tornado hurricane michelle nicole amanda samantha elizabeth stephanie
    melissa danielle patrick martin richard anthony jonathan nicholas christopher christian
    alexander alexandra alexandre benjamin sebastian gabriel victoria isabella sophie anna maria
    peter paul mark david james john steven kevin brian jason justin brandon tyler austin hannah
    sarah laura julia andrea claudia amsterdam london paris berlin newyork boston chicago dallas
    denver america american canada germany england france italy spain russia china india
    australia ireland scotland mexico brazil mustang cheval racing racer driver truck trucker
    bike biker motor engine turbo fuckyou fuckoff fuckme fuck asshole bitch shit sexy sex hottie
    pussy porn trustno trustnoone nopass nopassword mypassword newpassword yourpassword
    thepassword passwordpassword oldpassword adminadmin rootroot useruser machine machinist
    workshop factory shop milling lathe turning toolroom tooling tools engineer operator service
    support helpdesk security secure safety goofy maverick gateway infinity destiny fantasy
    galaxy rainbow butterfly unicorn dolphin dolphins penguin elephant rabbit bunny kitten kitty
    puppy doggy doggie cats dogs starlight midnight moonlight sunflower snowball snowman success
    genius student teacher school college university doctor nurse lawyer rocket spider dexter
    bandit casper chester oliver jasper sammy bubba chelsea liverpool barcelona alpha beta gamma
    delta omega zero one two three four five six seven eight nine ten hundred onetwothree onetwo
    the and my me you is it in on at for of your our all ball super mega ultra best good bad big
    cool hot nice happy lucky crazy smile man woman girl boy
    """.split()
)
